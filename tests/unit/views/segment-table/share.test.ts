import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { expect, test } from 'vitest';
import { Share } from '../../../../src/views/segment-table/segment-table';

test('one mistake in 3000 intervals is not shown as 100 %', () => {
  const standing = { status: 'final', lookedAtShare: 1 } as const;
  const shown = (value: number) => renderToStaticMarkup(createElement(Share, { value, standing }));
  expect(shown((100 * 2999) / 3000)).toBe('<strong>99.9 %</strong>');
  expect(shown(100)).toBe('<strong>100.0 %</strong>');
});
