import { describe, expect, test } from 'vitest';
import { keyLabel, keyPressed } from '../../../src/commands/key-press';
import { commandFor, conflicts, holdsIn, keysInForce, keysOf, withOwnKey } from '../../../src/commands/keymap';
import { reviewCommands } from '../../../src/commands/list';
import { allCommands } from '../../../src/commands/scenes';

const press = (key: string, held: { shift?: boolean; ctrl?: boolean; alt?: boolean; meta?: boolean } = {}) =>
  keyPressed({
    key,
    shiftKey: held.shift ?? false,
    ctrlKey: held.ctrl ?? false,
    altKey: held.alt ?? false,
    metaKey: held.meta ?? false,
  });

describe('key names', () => {
  test.each([
    ['K', { shift: true }, 'Shift+k'],
    ['k', {}, 'k'],
    ['?', { shift: true }, '?'],
    ['<', { shift: true }, '<'],
    [' ', { shift: true }, 'Shift+Space'],
    ['ArrowLeft', { shift: true }, 'Shift+ArrowLeft'],
    ['z', { ctrl: true }, 'Mod+z'],
    ['Z', { meta: true, shift: true }, 'Mod+Shift+z'],
    ['ArrowLeft', { alt: true }, ''],
    ['Shift', { shift: true }, ''],
  ] as const)('%s with %o is %s', (key, held, name) => {
    expect(press(key, held)).toBe(name);
  });

  test('are shown as people read them', () => {
    expect([keyLabel('Mod+Shift+z'), keyLabel('ArrowLeft'), keyLabel('+'), keyLabel('k')]).toEqual([
      'Ctrl Shift Z',
      '←',
      '+',
      'K',
    ]);
  });
});

describe('keys for the right hand alone', () => {
  const left = keysInForce({ keys: {}, handedness: 'left' });

  test('move known commands and meet no other key in any scene', () => {
    const ids = allCommands.map(c => c.id);
    expect(Object.keys(left).filter(id => !ids.includes(id))).toEqual([]);
    expect(conflicts(allCommands, left)).toEqual([]);
  });

  test('leave no unheld letter of the left half to a review', () => {
    const keys = reviewCommands.flatMap(c => keysOf(c, left));
    expect(keys.filter(key => /^[qwertasdfgzxcvb]$/.test(key))).toEqual([]);
  });

  test('give way to what the person chose', () => {
    const keys = { 'mark.snap': ['p'] };
    expect(keysInForce({ keys, handedness: 'left' })).toMatchObject({
      'mark.snap': ['p'],
      'edit.undo': ['0', 'Mod+z'],
    });
    expect(keysInForce({ keys, handedness: 'right' })).toBe(keys);
  });
});

describe('a key of one’s own', () => {
  test('is all that is kept under the layout for the right hand alone', () => {
    const prefs = { keys: {}, handedness: 'left' } as const;
    expect(withOwnKey(allCommands, prefs, 'mark.snap', 'F2')).toEqual({ keys: { 'mark.snap': ['F2'] } });
    const second = withOwnKey(allCommands, { ...prefs, keys: { 'mark.snap': ['F2'] } }, 'edit.undo', 'F4');
    expect(second).toEqual({ keys: { 'mark.snap': ['F2'], 'edit.undo': ['F4'] } });
    // Back to both hands, the other keys are where they were.
    expect('keys' in second && keysInForce({ keys: second.keys, handedness: 'right' })['remark.flag']).toBeUndefined();
  });

  test('is refused where another command has it by the layout in force', () => {
    const of = (handedness: 'left' | 'right') => withOwnKey(allCommands, { keys: {}, handedness }, 'mark.keep', '0');
    expect(of('left')).toMatchObject({ takenBy: { id: 'edit.undo' } });
    expect(of('right')).toEqual({ keys: { 'mark.keep': ['0'] } });
  });
});

describe('the command list', () => {
  test('has one command a key in every scene', () => {
    expect(conflicts(allCommands)).toEqual([]);
  });

  test('finds two commands that want one key', () => {
    const found = conflicts(reviewCommands, { 'mark.keep': ['i'] });
    expect(found).toEqual([{ key: 'i', ids: ['mark.keep', 'mark.insert'] }]);
  });

  test.each(['review', 'practice', 'compare'] as const)('has ids, titles and reasons that differ in %s', scene => {
    const here = allCommands.filter(c => holdsIn(c.scene, scene));
    expect(here.length).toBeGreaterThan(10);
    expect(new Set(here.map(c => c.id)).size).toBe(here.length);
    expect(new Set(here.map(c => c.title)).size).toBe(here.length);
    expect(here.filter(c => c.why.length < 5)).toEqual([]);
  });

  test('a lesson has the keys of a review and its own; a review has none of a lesson', () => {
    expect(commandFor(allCommands, {}, 'practice', 'i')?.id).toBe('mark.insert');
    expect(commandFor(allCommands, {}, 'practice', 'h')?.id).toBe('practice.hint');
    expect(commandFor(allCommands, {}, 'review', 'h')).toBeUndefined();
    expect(conflicts(allCommands, { 'practice.hint': ['i'] })).toEqual([
      { key: 'i', ids: ['practice.hint', 'mark.insert'] },
    ]);
  });

  test('answers changed keys and no longer the old ones', () => {
    const changes = { 'mark.keep': ['j'] };
    expect(commandFor(reviewCommands, changes, 'review', 'j')?.id).toBe('mark.keep');
    expect(commandFor(reviewCommands, changes, 'review', 'k')).toBeUndefined();
  });
});
