import { expect, test } from 'vitest';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { snapSpan } from '../../../../../src/core/review/places/span-end';
import { span } from '../../../../../src/core/units';

const hz = 100;
const marks = marksFrom([100, 200, 300, 400]);

test('each end goes to the edge of the noise that lies just outside', () => {
  expect(snapSpan(span(150, 350), marks, [130, 370], hz)).toEqual(span(130, 370));
  expect(snapSpan(span(150, 350), marks, [130, 140, 361, 370], hz)).toEqual(span(140, 361));
  expect(snapSpan(span(150, 350), marks, [119, 381], hz)).toEqual(span(150, 350));
});

test('what the rater showed never shrinks, and no mark is passed', () => {
  expect(snapSpan(span(150, 350), marks, [160, 340], hz)).toEqual(span(150, 350));
  expect(snapSpan(span(101, 199), marks, [99, 201], hz)).toEqual(span(101, 200));
  expect(snapSpan(span(100, 300), marks, [90, 310], hz)).toEqual(span(90, 300));
});

test('an end shortly before a mark lies on it, without taking it in', () => {
  expect(snapSpan(span(150, 391), marks, [], hz)).toEqual(span(150, 400));
  expect(snapSpan(span(150, 389), marks, [], hz)).toEqual(span(150, 389));
  expect(snapSpan(span(150, 450), marks, [], hz)).toEqual(span(150, 450));
});
