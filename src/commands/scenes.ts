import type { HasWorkspace } from '../state/review/workspace';
import type { Command } from './command';
import { compareCommands } from './compare-list';
import { holdsIn } from './keymap';
import { reviewCommands } from './list';
import { whyNotInLesson } from './not-in-lesson';
import { pageCommands } from './page-commands';
import { practiceCommands } from './practice';
import { sceneOf } from './scene-now';

/** Everything a key can do, over all screens. */
export const allCommands: readonly Command[] = [
  ...practiceCommands,
  ...reviewCommands,
  ...pageCommands,
  ...compareCommands,
];

/** What the keys can do on the screen that is open; before a review is open, what they will do in one. */
export function commandsOf(app: HasWorkspace): readonly Command[] {
  const now = sceneOf(app);
  const scene = now === 'no review' ? 'review' : now;
  const { workspace } = app.workspace.getState();
  return allCommands.filter(c => holdsIn(c.scene, scene) && (!workspace || whyNotInLesson(c, workspace) === null));
}
