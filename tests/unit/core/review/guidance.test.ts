import { describe, expect, test } from 'vitest';
import { defaultGuidance, guidanceOf, guidanceText, parseGuidance } from '../../../../src/core/review/guidance';

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
