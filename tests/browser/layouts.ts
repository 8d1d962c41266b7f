/**
 * National keyboard layouts: what each key types, plain and with Shift. Written from memory; where a key only begins an
 * accent the browser reports 'Dead'.
 */
export interface Layout {
  readonly name: string;
  readonly keys: Readonly<Record<string, readonly [plain: string, shifted: string]>>;
}

const digits = [...Array(9).keys()].map(i => `Digit${i + 1}`).concat('Digit0');
const letterRows = [
  'KeyQ KeyW KeyE KeyR KeyT KeyY KeyU KeyI KeyO KeyP',
  'KeyA KeyS KeyD KeyF KeyG KeyH KeyJ KeyK KeyL',
  'KeyZ KeyX KeyC KeyV KeyB KeyN KeyM',
].flatMap(row => row.split(' '));

type Keys = Record<string, readonly [string, string]>;

/** Letters in the order of the three rows, digits as pairs 'plain shifted'. */
function layout(name: string, letters: string, digitRow: string, others: Keys): Layout {
  const keys: Keys = {};
  [...letters].forEach((c, i) => {
    keys[letterRows[i]!] = [c, c.toUpperCase()];
  });
  digitRow.split(' ').forEach((pair, i) => {
    keys[digits[i]!] = [pair[0]!, pair[1]!];
  });
  return { name, keys: { ...keys, ...others } };
}

const usSigns: Keys = {
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

export const us = layout('US', 'qwertyuiopasdfghjklzxcvbnm', '1! 2@ 3# 4$ 5% 6^ 7& 8* 9( 0)', usSigns);

export const layouts: readonly Layout[] = [
  layout('German', 'qwertzuiopasdfghjklyxcvbnm', '1! 2" 3§ 4$ 5% 6& 7/ 8( 9) 0=', {
    Minus: ['ß', '?'],
    Equal: ['Dead', 'Dead'],
    BracketLeft: ['ü', 'Ü'],
    BracketRight: ['+', '*'],
    Backslash: ['#', "'"],
    Semicolon: ['ö', 'Ö'],
    Quote: ['ä', 'Ä'],
    Comma: [',', ';'],
    Period: ['.', ':'],
    Slash: ['-', '_'],
    IntlBackslash: ['<', '>'],
  }),
  layout('French', 'azertyuiopqsdfghjklwxcvbn', '&1 é2 "3 \'4 (5 -6 è7 _8 ç9 à0', {
    Minus: [')', '°'],
    Equal: ['=', '+'],
    BracketLeft: ['Dead', 'Dead'],
    BracketRight: ['$', '£'],
    Backslash: ['*', 'µ'],
    Semicolon: ['m', 'M'],
    Quote: ['ù', '%'],
    KeyM: [',', '?'],
    Comma: [';', '.'],
    Period: [':', '/'],
    Slash: ['!', '§'],
    IntlBackslash: ['<', '>'],
  }),
  layout('French on a Mac', 'azertyuiopqsdfghjklwxcvbn', '&1 é2 "3 \'4 (5 §6 è7 !8 ç9 à0', {
    Minus: [')', '°'],
    Equal: ['-', '_'],
    BracketLeft: ['Dead', 'Dead'],
    BracketRight: ['$', '*'],
    Backslash: ['`', '£'],
    Semicolon: ['m', 'M'],
    Quote: ['ù', '%'],
    KeyM: [',', '?'],
    Comma: [';', '.'],
    Period: [':', '/'],
    Slash: ['=', '+'],
    IntlBackslash: ['<', '>'],
  }),
  layout('Russian', 'йцукенгшщзфывапролдячсмить', '1! 2" 3№ 4; 5% 6: 7? 8* 9( 0)', {
    Minus: ['-', '_'],
    Equal: ['=', '+'],
    BracketLeft: ['х', 'Х'],
    BracketRight: ['ъ', 'Ъ'],
    Backslash: ['\\', '/'],
    Semicolon: ['ж', 'Ж'],
    Quote: ['э', 'Э'],
    Comma: ['б', 'Б'],
    Period: ['ю', 'Ю'],
    Slash: ['.', ','],
  }),
  layout('Greek', ';ςερτυθιοπασδφγηξκλζχψωβνμ', '1! 2@ 3# 4$ 5% 6^ 7& 8* 9( 0)', {
    ...usSigns,
    KeyQ: [';', ':'],
    Semicolon: ['Dead', 'Dead'],
  }),
];
