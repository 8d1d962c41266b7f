import type { Command, Scene } from './command';

export type KeyChanges = Readonly<Record<string, readonly string[]>>;

export function keysOf(command: Command, changes: KeyChanges): readonly string[] {
  return changes[command.id] ?? command.keys;
}

function meet(a: Scene, b: Scene): boolean {
  return holdsIn(a, b) || holdsIn(b, a);
}

/** Whether a command of `scene` answers in scene `now`. */
export function holdsIn(scene: Scene, now: Scene): boolean {
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

/** The command that answers a key in a scene. */
export function commandFor(
  commands: readonly Command[],
  changes: KeyChanges,
  scene: Scene,
  key: string,
): Command | undefined {
  return commands.find(c => holdsIn(c.scene, scene) && keysOf(c, changes).includes(key));
}
