import type { Intent } from '../core/marks/log';
import type { Built, Editing } from '../core/review/edits';
import { isRefusal } from '../core/review/edits';
import type { SampleIndex } from '../core/units';
import type { App } from '../state/app';
import { type Active, active, type ReviewWorkspace } from '../state/review/workspace';

/** The active recording as the edit builders want it. */
export function editing(workspace: ReviewWorkspace, now: Active = active(workspace)): Editing {
  return { item: now.item, review: now.review, finished: workspace.review.get().replayed.finished };
}

/** Appends what was built; says a refusal aloud. True when something changed. */
export function perform(
  workspace: ReviewWorkspace,
  app: App,
  intent: Intent,
  built: Built,
  said = '',
  reason?: string,
): boolean {
  const { access } = workspace.review.get();
  if (!access.writable) return refuse(app, access.why ?? 'This review is open for reading only.');
  if (built === null) return refuse(app, '');
  if (isRefusal(built)) return refuse(app, built.refused);
  const recording = workspace.view.getState().recordingId;
  // What a supervisor places belongs to neither rater, and only where it is theirs to decide.
  const change = workspace.comparing ? workspace.comparing.admit(recording, built) : built;
  if (isRefusal(change)) return refuse(app, change.refused);
  const origin = workspace.comparing ? { origin: 'new' } : {};
  const done = workspace.review.act({ recording, intent, change, ...(reason ? { reason } : {}), ...origin });
  app.ui.status(done ? said : 'This review is finished: reopen it to change anything.');
  return done;
}

export function refuse(app: App, why: string): false {
  app.ui.status(why);
  return false;
}

/** Runs an edit at the selected mark, or says that none is selected. */
export function withSelected(
  workspace: ReviewWorkspace,
  app: App,
  work: (selected: SampleIndex, now: Active) => boolean,
): boolean {
  const now = active(workspace);
  if (now.selected === null) return refuse(app, 'No mark under the caret: step to one with the arrow keys.');
  return work(now.selected, now);
}

export function timeLabel(samples: number, rateHz: number): string {
  return `${((samples * 1000) / rateHz).toFixed(0)} ms`;
}
