import type { HasWorkspace } from '../state/review/workspace';
import type { Command, SceneNow } from './command';
import { compareCommands } from './compare-list';
import { holdsIn } from './keymap';
import { pageCommands, reviewCommands } from './list';
import { practiceCommands } from './practice';

/** Everything a key can do, over all screens. */
export const allCommands: readonly Command[] = [
  ...practiceCommands,
  ...reviewCommands,
  ...pageCommands,
  ...compareCommands,
];

export function sceneOf(app: HasWorkspace): SceneNow {
  const purpose = app.workspace.getState().workspace?.purpose;
  if (!purpose) return 'no review';
  return purpose === 'settle' ? 'compare' : purpose === 'practice' ? 'practice' : 'review';
}

/** What the keys can do on the screen that is open; before a review is open, what they will do in one. */
export function commandsOf(app: HasWorkspace): readonly Command[] {
  const now = sceneOf(app);
  const scene = now === 'no review' ? 'review' : now;
  return allCommands.filter(c => holdsIn(c.scene, scene));
}
