import type { HasWorkspace } from '../state/review/workspace';
import type { SceneNow } from './command';

/** Which keys hold at this moment. */
export function sceneOf(app: HasWorkspace): SceneNow {
  const purpose = app.workspace.getState().workspace?.purpose;
  if (!purpose) return 'no review';
  return purpose === 'settle' ? 'compare' : purpose === 'practice' ? 'practice' : 'review';
}
