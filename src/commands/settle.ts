import type { RecordingReview } from '../core/marks/edit';
import { between } from '../core/marks/markset';
import { intersect, totalLength } from '../core/marks/spans';
import type { Disagreement } from '../core/review/disagreements';
import { isRefusal } from '../core/review/edits';
import { type Choice, settle, settleDraft, settlementOf, startAdjudication } from '../core/review/settle';
import { outcomeOf, planDraft, recordOutcome, type SpotCheckPlan } from '../core/review/spot-check';
import type { SampleIndex } from '../core/units';
import type { App } from '../state/app';
import { clock } from '../state/clocks/text';
import { comparingOf, currentDifference } from '../state/compare/comparing';
import { active, type ReviewWorkspace } from '../state/review/workspace';
import { goTo } from './navigate';
import { refuse } from './perform';

/** Walking the differences of two raters and settling them. */

/** Puts a difference in hand and shows it; `taken` is what was decided just before, in words. */
export function showDifference(workspace: ReviewWorkspace, app: App, index: number, taken = ''): boolean {
  const comparing = comparingOf(workspace);
  const list = comparing.comparisonOf(workspace.view.getState().recordingId)?.disagreements ?? [];
  const d = list[index];
  if (!d) return refuse(app, list.length === 0 ? 'No difference on this recorder.' : 'No further difference.');
  comparing.store.setState({ inHand: index, checking: -1 });
  showPlace(workspace, d.at);
  app.ui.status(`${taken}Difference ${index + 1} of ${list.length}`);
  return true;
}

/** In the middle of the page, where the beats on both sides can be seen. */
function showPlace(workspace: ReviewWorkspace, sample: number): void {
  goTo(workspace, sample);
  const view = workspace.view.getState();
  const { item, rateHz } = active(workspace);
  const seconds = view.geometry.widthPx / (view.pxPerMm * view.mmPerSecond);
  const last = Math.max(0, item.recording.sampleCount / rateHz - seconds);
  if (view.rows === 1)
    workspace.view.setState({ startSec: Math.max(0, Math.min(last, sample / rateHz - seconds * 0.4)) });
}

export function stepDifference(workspace: ReviewWorkspace, app: App, direction: 1 | -1): boolean {
  const comparing = comparingOf(workspace);
  const { inHand, kind } = comparing.store.getState();
  const list = comparing.comparisonOf(workspace.view.getState().recordingId)?.disagreements ?? [];
  let next = inHand + direction;
  while (kind !== null && list[next] && list[next]!.kind !== kind) next += direction;
  return showDifference(workspace, app, next);
}

/** The next difference without an answer, going round; on another recorder when this one has none left. */
export function nextUnsettled(workspace: ReviewWorkspace, app: App, taken = ''): boolean {
  const comparing = comparingOf(workspace);
  const { session, replayed } = workspace.review.get();
  const here = workspace.view.getState().recordingId;
  const ids = session.recordings.map(r => r.recording.id);
  const from = ids.indexOf(here);
  for (const id of [...ids.slice(from), ...ids.slice(0, from)]) {
    const list = comparing.comparisonOf(id)?.disagreements ?? [];
    const review = replayed.recordings.get(id)!;
    const open = list.flatMap((d, i) => (settlementOf(review, d) ? [] : [i]));
    const start = id === here ? comparing.store.getState().inHand : -1;
    const next = open.find(i => i > start) ?? open[0];
    if (next === undefined) continue;
    if (id !== here) workspace.view.setState({ recordingId: id });
    return showDifference(workspace, app, next, taken);
  }
  return refuse(app, `${taken}Every difference is settled.`);
}

/** Brings in what both agree on: the first entries of the adjudicated log. */
export function beginSettling(workspace: ReviewWorkspace, app: App): boolean {
  const comparing = comparingOf(workspace);
  const pair = comparing.logs();
  const { session, log, access } = workspace.review.get();
  if (comparing.settling()) return true;
  if (!access.writable) return refuse(app, access.why ?? '');
  if (!pair) return refuse(app, 'Choose two reviews first.');
  const ids = session.recordings.map(r => r.recording.id);
  const comparisons = new Map(ids.map(id => [id, comparing.comparisonOf(id)!] as const));
  const start = startAdjudication(
    { session, logA: pair.a, logB: pair.b, comparisons },
    log.header.rater,
    app.now().toISOString(),
  );
  for (const { recording, intent, change, reason = '', origin = '' } of start.entries) {
    workspace.review.act({ recording, intent, change, reason, origin });
  }
  return showDifference(workspace, app, 0) || true;
}

/** Takes A's or B's answer to the difference in hand, or what was placed there, and goes on to the next open one. */
export function take(workspace: ReviewWorkspace, app: App, answer: Choice['take'], reason = ''): boolean {
  const comparing = comparingOf(workspace);
  const recordingId = workspace.view.getState().recordingId;
  const comparison = comparing.comparisonOf(recordingId);
  const d = currentDifference(workspace);
  if (!comparing.settling()) return refuse(app, 'Begin settling first.');
  if (!comparison || !d) return refuse(app, 'Go to a difference first.');
  const { access } = workspace.review.get();
  if (!access.writable) return refuse(app, access.why ?? '');
  const { review } = active(workspace);
  const choice: Choice = answer === 'new' ? { take: 'new', ...placedIn(review, d) } : { take: answer };
  const built = settle(comparison, review, d, choice);
  if (built !== null && isRefusal(built)) return refuse(app, built.refused);
  if (built !== null) {
    const { at: _, ...act } = settleDraft('', recordingId, choice, built, reason);
    if (!workspace.review.act(act)) return refuse(app, 'This settlement is finished: reopen it to change anything.');
  }
  const stands = standingWords(active(workspace).review, d, active(workspace).rateHz);
  nextUnsettled(workspace, app, `Took ${answer === 'new' ? 'what is placed' : answer}: ${stands}. `);
  return true;
}

/** What stands at a difference now, in words. */
export function standingWords(review: RecordingReview, d: Disagreement, rateHz: number): string {
  const { marks, unreadable } = placedIn(review, d);
  if (unreadable.length > 0) return unreadableWords(totalLength(unreadable), rateHz);
  return d.kind === 'span differs' ? 'readable' : beatWords(marks, rateHz);
}

export function unreadableWords(samples: number, rateHz: number): string {
  return `unreadable for ${(samples / rateHz).toFixed(2)} s`;
}

/** `a beat at 0:48.124`, `beats at 0:48.124 and 0:48.620`, or `no beat`. */
export function beatWords(marks: readonly SampleIndex[], rateHz: number): string {
  if (marks.length === 0) return 'no beat';
  return `${marks.length === 1 ? 'a beat' : 'beats'} at ${marks.map(m => clock(m / rateHz, 3)).join(' and ')}`;
}

/** What stands in a difference's territory now. */
function placedIn(review: RecordingReview, { territory }: Disagreement) {
  const marks = territory.flatMap(s => [...between(review.marks, s.start, s.end)]) as SampleIndex[];
  return { marks, unreadable: intersect(review.unreadable, territory) };
}

/** States share and seed of the spot check in the log and shows the first stretch. */
export function beginSpotCheck(workspace: ReviewWorkspace, app: App, plan: SpotCheckPlan): boolean {
  const { at: _, ...act } = planDraft('', plan);
  if (!workspace.review.act(act)) return refuse(app, 'This settlement takes no more entries.');
  comparingOf(workspace).store.setState({ checking: -1 });
  return nextStretch(workspace, app);
}

/** The next stretch of the spot check that was not looked at, on whichever recorder it is. */
export function nextStretch(workspace: ReviewWorkspace, app: App): boolean {
  const comparing = comparingOf(workspace);
  if (!comparing.plan()) {
    app.ui.openDialog('spot check');
    return true;
  }
  const { session, replayed } = workspace.review.get();
  const here = workspace.view.getState().recordingId;
  const ids = session.recordings.map(r => r.recording.id);
  const from = ids.indexOf(here);
  for (const id of [...ids.slice(from), ...ids.slice(0, from)]) {
    const review = replayed.recordings.get(id)!;
    const stretches = comparing.stretches(id);
    const next = stretches.findIndex(s => outcomeOf(review, s) === null);
    if (next === -1) continue;
    if (id !== here) workspace.view.setState({ recordingId: id });
    comparing.store.setState({ checking: next, inHand: -1 });
    goTo(workspace, stretches[next]!.start);
    app.ui.status(
      `Stretch ${next + 1} of ${stretches.length}: correct it where it is wrong, then press the key again.`,
    );
    return true;
  }
  comparing.store.setState({ checking: -1 });
  return refuse(app, 'The spot check is done.');
}

/** Records the stretch in hand as looked at: confirmed, or changed when something in it was corrected. */
export function stretchChecked(workspace: ReviewWorkspace, app: App): boolean {
  const comparing = comparingOf(workspace);
  const recording = workspace.view.getState().recordingId;
  const stretch = comparing.stretches(recording)[comparing.store.getState().checking];
  if (!stretch) return nextStretch(workspace, app);
  const outcome = comparing.isChanged(recording, stretch) ? 'changed' : 'confirmed';
  const change = recordOutcome(active(workspace).review, stretch, outcome);
  const origin = outcome === 'changed' ? 'new' : 'both';
  if (change && !workspace.review.act({ recording, intent: 'settle', change, origin })) {
    return refuse(app, workspace.review.get().access.why ?? 'This settlement is finished.');
  }
  nextStretch(workspace, app);
  return true;
}
