/**
 * What a keyboard with Latin letters (the US layout) has at each place, plain and with Shift, by the code values of the
 * W3C's UI Events KeyboardEvent code.
 */
const signs: Readonly<Record<string, readonly [plain: string, shifted: string]>> = {
  Backquote: ['`', '~'],
  Digit1: ['1', '!'],
  Digit2: ['2', '@'],
  Digit3: ['3', '#'],
  Digit4: ['4', '$'],
  Digit5: ['5', '%'],
  Digit6: ['6', '^'],
  Digit7: ['7', '&'],
  Digit8: ['8', '*'],
  Digit9: ['9', '('],
  Digit0: ['0', ')'],
  Minus: ['-', '_'],
  Equal: ['=', '+'],
  BracketLeft: ['[', '{'],
  BracketRight: [']', '}'],
  Backslash: ['\\', '|'],
  Semicolon: [';', ':'],
  Quote: ["'", '"'],
  Comma: [',', '<'],
  Period: ['.', '>'],
  Slash: ['/', '?'],
};

/** The letter (small) or sign at a place; null where there is none. */
export function signAt(code: string, shift: boolean): string | null {
  const letter = /^Key([A-Z])$/.exec(code)?.[1];
  if (letter) return letter.toLowerCase();
  return signs[code]?.[shift ? 1 : 0] ?? null;
}

/** Where a small letter or sign is; null for what has no place of its own. */
export function positionOf(sign: string): { readonly code: string; readonly shift: boolean } | null {
  if (/^[a-z]$/.test(sign)) return { code: `Key${sign.toUpperCase()}`, shift: false };
  for (const [code, both] of Object.entries(signs)) {
    const i = both.indexOf(sign);
    if (i !== -1) return { code, shift: i === 1 };
  }
  return null;
}
