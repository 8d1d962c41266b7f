import type { Prefs } from '../state/stores/prefs-store';
import type { Command, Scene, SceneNow } from './command';

export type KeyChanges = Readonly<Record<string, readonly string[]>>;

/**
 * For the right hand alone, with the mouse or pen in the left: the letters of the keyboard's left half move to keys on
 * its right. What a person changed by hand stays changed.
 */
const rightHalf: KeyChanges = {
  'mark.snap': [';'],
  'edit.undo': ['0', 'Mod+z'],
  'edit.redo': [')', 'Mod+Shift+z', 'Mod+y'],
  'suspicion.take': ["'"],
  'suspicion.dismiss': ['/'],
  'suspicion.segment': ['y'],
  'unseen.next': ['9'],
  'time.go': ['8'],
  'remark.comment': ['7'],
  'remark.flag': ['6'],
  'rows.change': ['5'],
  'recorder.other': ['4'],
  'recorder.both': ['\\'],
  'export.open': ['F9'],
  'sample.next': ['F8'],
  'notSinus.next': ['F7'],
  'notSinus.previous': ['Shift+F7'],
};

const forLeftHanded = new WeakMap<KeyChanges, KeyChanges>();

/** The keys that hold on this device; the same object for the same preferences. */
export function keysInForce({ keys, handedness }: Pick<Prefs, 'keys' | 'handedness'>): KeyChanges {
  if (handedness === 'right') return keys;
  const known = forLeftHanded.get(keys) ?? { ...rightHalf, ...keys };
  forLeftHanded.set(keys, known);
  return known;
}

/** The person's own keys with one more; or the command that has the key already, in a scene where both would answer. */
export function withOwnKey(
  commands: readonly Command[],
  prefs: Pick<Prefs, 'keys' | 'handedness'>,
  id: string,
  key: string,
): { readonly keys: KeyChanges } | { readonly takenBy: Command } {
  const clash = conflicts(commands, { ...keysInForce(prefs), [id]: [key] }).find(c => c.key === key);
  if (clash) return { takenBy: commands.find(c => c.id === clash.ids.find(other => other !== id))! };
  // What is kept is only what the person chose: a layout must not become their own keys.
  return { keys: { ...prefs.keys, [id]: [key] } };
}

export function keysOf(command: Command, changes: KeyChanges): readonly string[] {
  return changes[command.id] ?? command.keys;
}

function meet(a: Scene, b: Scene): boolean {
  return holdsIn(a, b) || holdsIn(b, a);
}

/** Whether a command of `scene` answers in scene `now`. */
export function holdsIn(scene: Scene, now: Scene | SceneNow): boolean {
  return scene === now || scene === 'anywhere' || (scene === 'review' && now === 'practice');
}

/** Pairs of commands that would answer the same key in the same scene. */
export function conflicts(
  commands: readonly Command[],
  changes: KeyChanges = {},
): { key: string; ids: [string, string] }[] {
  const found: { key: string; ids: [string, string] }[] = [];
  for (const [i, a] of commands.entries()) {
    for (const b of commands.slice(i + 1)) {
      if (!meet(a.scene, b.scene)) continue;
      const theirs = keysOf(b, changes);
      for (const key of keysOf(a, changes)) if (theirs.includes(key)) found.push({ key, ids: [a.id, b.id] });
    }
  }
  return found;
}

/** The command that answers a key press in a scene, by the first of its names that one has. */
export function commandForPress(
  commands: readonly Command[],
  changes: KeyChanges,
  scene: SceneNow,
  names: readonly string[],
): Command | undefined {
  for (const name of names) {
    const command = commandFor(commands, changes, scene, name);
    if (command) return command;
  }
  return undefined;
}

/** The command that answers a key in a scene. */
export function commandFor(
  commands: readonly Command[],
  changes: KeyChanges,
  scene: SceneNow,
  key: string,
): Command | undefined {
  return commands.find(c => holdsIn(c.scene, scene) && keysOf(c, changes).includes(key));
}
