import { signOff } from '../core/review/edits';
import type { ReviewWorkspace } from '../state/review/workspace';
import type { CommandContext } from './command';
import { editing, perform } from './perform';

/**
 * Signs off the segment that was completed, wherever the caret has gone since; false where none is offered on the
 * current recorder.
 */
export function signOffOffered(workspace: ReviewWorkspace, app: CommandContext): boolean {
  const { recordingId, signOffOffer } = workspace.view.getState();
  if (signOffOffer?.recordingId !== recordingId) return false;
  const { segment } = signOffOffer;
  const built = signOff(editing(workspace), segment, app.now().toISOString(), null);
  return perform(workspace, app, 'sign off', built, `${segment} signed off.`);
}
