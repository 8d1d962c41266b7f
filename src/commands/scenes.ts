import type { App } from '../state/app';
import type { Command, Scene } from './command';
import { compareCommands } from './compare-list';
import { holdsIn } from './keymap';
import { reviewCommands } from './list';
import { practiceCommands } from './practice';

/** Everything a key can do, over all screens. */
export const allCommands: readonly Command[] = [...practiceCommands, ...reviewCommands, ...compareCommands];

export function sceneOf(app: App): Scene {
  const purpose = app.workspace.getState().workspace?.purpose;
  return purpose === 'settle' ? 'compare' : purpose === 'practice' ? 'practice' : 'review';
}

/** What the keys can do on the screen that is open. */
export function commandsOf(app: App): readonly Command[] {
  const scene = sceneOf(app);
  return allCommands.filter(c => holdsIn(c.scene, scene));
}
