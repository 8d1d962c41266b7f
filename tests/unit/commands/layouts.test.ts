import { describe, expect, test } from 'vitest';
import type { Command } from '../../../src/commands/command';
import { keyLabel, keyNames, nameToKeep } from '../../../src/commands/key-press';
import { commandForPress, type KeyChanges, keysOf } from '../../../src/commands/keymap';
import { allCommands } from '../../../src/commands/scenes';
import { createKeyCaps } from '../../../src/state/stores/key-caps-store';
import { type Layout, layouts, us } from '../../browser/layouts';

const held = { shiftKey: false, ctrlKey: false, metaKey: false, altKey: false };

/** Everything that a layout types without AltGr, with and without Control. */
function presses({ keys }: Layout) {
  return Object.entries(keys).flatMap(([code, [plain, shifted]]) =>
    [false, true].flatMap(ctrlKey => [
      { ...held, ctrlKey, code, key: plain },
      { ...held, ctrlKey, code, key: shifted, shiftKey: true },
    ]),
  );
}

const isCharacter = (key: string) => /^(Mod\+)?(Shift\+)?.$/u.test(key);

function unreachable(layout: Layout, changes: KeyChanges = {}): Command[] {
  const typed = presses(layout).map(keyNames);
  return allCommands.filter(c => {
    const scene = c.scene === 'anywhere' ? 'review' : c.scene;
    return (
      keysOf(c, changes).every(isCharacter) && !typed.some(n => commandForPress(allCommands, changes, scene, n) === c)
    );
  });
}

describe.each([us, ...layouts])('$name', layout => {
  test('has every command without AltGr', () => {
    expect(unreachable(layout).map(c => c.id)).toEqual([]);
  });

  test('a Latin letter is always itself', () => {
    for (const press of presses(layout).filter(p => /^[a-z]$/.test(p.key) && !p.ctrlKey))
      expect(keyNames(press)).toEqual([press.key]);
  });
});

test('Control and a Latin letter elsewhere on the keyboard is not what another layout has there', () => {
  expect(keyNames({ ...held, ctrlKey: true, code: 'KeyZ', key: 'w' })).toEqual(['Mod+w']);
  expect(keyNames({ ...held, ctrlKey: true, code: 'KeyZ', key: 'я' })).toEqual(['Mod+я', 'Mod+z']);
});

test('a sign typed with AltGr or Option is that sign; Alt with a key as it is belongs to the browser', () => {
  const altGr = { ...held, ctrlKey: true, altKey: true, code: 'Digit8', key: '[' };
  expect(keyNames({ ...altGr, getModifierState: () => true })).toEqual(['[']);
  expect(keyNames({ ...altGr, getModifierState: () => false })).toEqual([]);
  expect(keyNames({ ...held, altKey: true, code: 'Digit5', key: '[' })).toEqual(['[']);
  expect(keyNames({ ...held, altKey: true, code: 'BracketLeft', key: '[' })).toEqual([]);
  expect(keyNames({ ...held, altKey: true, code: 'KeyD', key: 'd' })).toEqual([]);
});

test('a key chosen on a keyboard of another script is kept by its place', () => {
  expect(nameToKeep({ ...held, code: 'KeyH', key: 'р' })).toBe('h');
  expect(nameToKeep({ ...held, code: 'KeyY', key: 'z' })).toBe('z');
  expect(nameToKeep({ ...held, code: 'Backslash', key: '#' })).toBe('#');
});

describe('what is printed on the keys', () => {
  const capsOf = (layout: Layout) =>
    new Map(
      Object.entries(layout.keys).flatMap(([code, [plain]]) => (plain === 'Dead' ? [] : [[code, plain] as const])),
    );
  const labels = (layout: Layout | undefined, ...keys: string[]) =>
    keys.map(k => keyLabel(k, layout && capsOf(layout)));
  const named = (name: string) => layouts.find(l => l.name === name)!;

  test('is shown where the layout is known', () => {
    expect(labels(undefined, 'j', 'Shift+j', '[', '{', '<')).toEqual(['J', 'Shift J', '[', '{', '<']);
    expect(labels(us, 'j', 'Shift+j', '[', '{', '<')).toEqual(['J', 'Shift J', '[', '{', '<']);
    expect(labels(named('German'), 'z', '[', ']', '{', '}', '<', '?', 'Mod+z')).toEqual([
      'Z',
      'Ü',
      ']',
      'Shift Ü',
      'Shift +',
      '<',
      '?',
      'Ctrl Z',
    ]);
    expect(labels(named('Russian'), 'j', 'Shift+j', 'Mod+z', ']', '}', '<', ',')).toEqual([
      'О',
      'Shift О',
      'Ctrl Я',
      'Ъ',
      'Shift Ъ',
      'Shift Б',
      ',',
    ]);
    expect(labels(named('Greek'), 'j', 'x', 'ArrowLeft')).toEqual(['Ξ', 'Χ', '←']);
    expect(labels(named('French'), 'a', 'm', ']', '}')).toEqual(['A', 'M', '$', 'Shift $']);
  });

  test('comes from the browser, and from the keys pressed', async () => {
    const caps = createKeyCaps();
    await caps.ask({
      getLayoutMap: async () =>
        new Map([
          ['KeyJ', 'j'],
          ['KeyY', 'z'],
          ['Enter', 'Enter'],
        ]),
    });
    expect(caps.getState().caps).toEqual(
      new Map([
        ['KeyJ', 'j'],
        ['KeyY', 'z'],
      ]),
    );
    caps.learn({ ...held, code: 'KeyJ', key: 'о' });
    // One letter tells the rest of its script's usual layout; what is pressed is believed before that.
    expect(['KeyJ', 'KeyY', 'Comma'].map(c => caps.getState().caps.get(c))).toEqual(['о', 'н', 'б']);
    caps.learn({ ...held, code: 'BracketRight', key: 'ї' });
    expect(caps.getState().caps.get('BracketRight')).toBe('ї');
    caps.learn({ ...held, code: 'KeyJ', key: 'j' });
    expect(['KeyJ', 'KeyK'].map(c => caps.getState().caps.get(c))).toEqual(['j', undefined]);
    const before = caps.getState().caps;
    caps.learn({ ...held, code: 'KeyK', key: 'K', shiftKey: true });
    caps.learn({ ...held, code: 'KeyK', key: 'ArrowLeft' });
    expect(caps.getState().caps).toBe(before);
  });
});
