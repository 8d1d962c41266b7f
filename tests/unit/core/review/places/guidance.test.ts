import { describe, expect, test } from 'vitest';
import {
  defaultGuidance,
  guidanceOf,
  guidanceText,
  parseGuidance,
  samplingGuidance,
} from '../../../../../src/core/review/places/guidance';

describe('guidance for raters', () => {
  test('covers each mistake, doubt, breaks and incidental findings on one page', () => {
    const text = guidanceText(defaultGuidance);
    for (const word of [
      'Missed peak',
      'Wrong peak',
      'Extra mark',
      'Unreadable',
      'In doubt',
      'Breaks',
      'incidental findings',
    ]) {
      expect(text).toContain(word);
    }
    // common practice: a printed page holds some 500 to 600 words.
    expect(text.split(/\s+/).length).toBeLessThan(600);
  });

  test('says when to sample, when not, what that assumes and what it does not cover', () => {
    // The limits are those of the method as simulated; tests/reference/sample has its costs.
    const text = samplingGuidance.points.join(' ');
    for (const words of ['under 15 minutes', 'below 90 %', 'rhythm', '1.25 times', 'Mistakes of the rater']) {
      expect(text).toContain(words);
    }
  });

  test('text and structure turn into each other', () => {
    expect(parseGuidance(guidanceText(defaultGuidance))).toEqual(defaultGuidance);
    expect(parseGuidance('Our own\nrules\n\n# Doubt\n- ask\n  twice\n- rest\n# Empty\n')).toEqual({
      title: 'Our own rules',
      sections: [
        { heading: 'Doubt', points: ['ask twice', 'rest'] },
        { heading: 'Empty', points: [] },
      ],
    });
  });

  test('an emptied text falls back to the default', () => {
    expect(parseGuidance(' \n')).toEqual(defaultGuidance);
    expect(guidanceOf(null)).toBe(defaultGuidance);
    expect(guidanceOf({ title: ' ', sections: [{ heading: 'Ours', points: [' a ', ''] }] })).toEqual({
      title: defaultGuidance.title,
      sections: [{ heading: 'Ours', points: ['a'] }],
    });
  });
});
