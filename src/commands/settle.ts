import type { RecordingReview } from '../core/marks/edit';
import { between } from '../core/marks/markset';
import { intersect, totalLength } from '../core/marks/spans';
import { isRefusal } from '../core/review/edits';
import type { Disagreement } from '../core/review/raters/disagreements';
import { type Choice, settle, settleDraft, settlementOf, startAdjudication } from '../core/review/raters/settle';
import { outcomeOf, planDraft, recordOutcome, type SpotCheckPlan } from '../core/review/raters/spot-check';
import type { SampleIndex } from '../core/units';
import { clock } from '../state/clocks/text';
import { type ComparisonWorkspace, currentDifference } from '../state/compare/comparing';
import { active } from '../state/review/workspace';
import type { Dialogs, HasUi, StatusLine } from '../state/stores/ui-store';
import { goTo } from './navigate';
import { perform, refuse } from './perform';

/** Walking the differences of two raters and settling them. */

/** What settling needs of the page. */
export type Settling = HasUi<StatusLine & Dialogs> & { now(): Date };

/** Puts a difference current and shows it; `taken` is what was decided just before, in words. */
export function showDifference(workspace: ComparisonWorkspace, app: Settling, index: number, taken = ''): boolean {
  const { comparing } = workspace;
  const list = comparing.comparisonOf(workspace.view.getState().recordingId)?.disagreements ?? [];
  const d = list[index];
  if (!d) return refuse(app, noDifference(list.length, index));
  comparing.store.setState({ inHand: index, checking: -1 });
  showPlace(workspace, d.at);
  app.ui.status(`${taken}Difference ${index + 1} of ${list.length}`);
  return true;
}

function noDifference(count: number, index: number): string {
  if (count === 0) return 'No difference on this recorder.';
  return index < 0 ? 'No difference before this one.' : 'No further difference.';
}

/** In the middle of the page, where the beats on both sides can be seen. */
function showPlace(workspace: ComparisonWorkspace, sample: number): void {
  goTo(workspace, sample);
  const view = workspace.view.getState();
  const { item, rateHz } = active(workspace);
  const seconds = view.geometry.widthPx / (view.pxPerMm * view.mmPerSecond);
  const last = Math.max(0, item.recording.sampleCount / rateHz - seconds);
  if (view.rows === 1)
    workspace.view.setState({ startSeconds: Math.max(0, Math.min(last, sample / rateHz - seconds * 0.4)) });
}

export function stepDifference(workspace: ComparisonWorkspace, app: Settling, direction: 1 | -1): boolean {
  const { comparing } = workspace;
  const { inHand, kind } = comparing.store.getState();
  const list = comparing.comparisonOf(workspace.view.getState().recordingId)?.disagreements ?? [];
  let next = inHand + direction;
  while (kind !== null && list[next] && list[next]!.kind !== kind) next += direction;
  return showDifference(workspace, app, next);
}

/** The next difference without an answer, going round; on another recorder when this one has none left. */
export function nextUnsettled(workspace: ComparisonWorkspace, app: Settling, taken = ''): boolean {
  const { comparing } = workspace;
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
export function beginSettling(workspace: ComparisonWorkspace, app: Settling): boolean {
  const { comparing } = workspace;
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
  for (const { recording, intent, change, fact, origin } of start.entries) {
    if (!perform(workspace, app, intent, change, '', { recording, fact, origin })) return false;
  }
  return showDifference(workspace, app, 0) || true;
}

/** Takes A's or B's answer to the current difference, or what was placed there, and goes on to the next open one. */
export function takeRating(
  workspace: ComparisonWorkspace,
  app: Settling,
  answer: Choice['take'],
  reason = '',
): boolean {
  const { comparing } = workspace;
  const recordingId = workspace.view.getState().recordingId;
  const comparison = comparing.comparisonOf(recordingId);
  const d = currentDifference(workspace);
  if (!comparing.settling()) return refuse(app, 'Begin settling first.');
  if (!comparison || !d) return refuse(app, 'Go to a difference first.');
  const { review } = active(workspace);
  const choice: Choice = answer === 'new' ? { take: 'new', ...placedIn(review, d) } : { take: answer };
  const built = settle(comparison, review, d, choice);
  if (built !== null && isRefusal(built)) return refuse(app, built.refused);
  if (built !== null) {
    const { intent, change, ...particulars } = settleDraft('', recordingId, choice, built, reason);
    if (!perform(workspace, app, intent, change, '', particulars)) return false;
  }
  const stands = raterStanding(active(workspace).review, d, active(workspace).rateHz);
  nextUnsettled(workspace, app, `Took ${answer === 'new' ? 'this position' : answer}: ${stands}. `);
  return true;
}

/** What stands at a difference now, in words. */
export function raterStanding(review: RecordingReview, d: Disagreement, rateHz: number): string {
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
export function beginSpotCheck(workspace: ComparisonWorkspace, app: Settling, plan: SpotCheckPlan): boolean {
  const { intent, change, ...particulars } = planDraft('', plan);
  if (!perform(workspace, app, intent, change, '', particulars)) return false;
  workspace.comparing.store.setState({ checking: -1 });
  return nextStretch(workspace, app);
}

/** The next stretch of the spot check that was not looked at, on whichever recorder it is. */
export function nextStretch(workspace: ComparisonWorkspace, app: Settling): boolean {
  const { comparing } = workspace;
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

/** Records the current stretch as looked at: confirmed, or changed when something in it was corrected. */
export function stretchChecked(workspace: ComparisonWorkspace, app: Settling): boolean {
  const { comparing } = workspace;
  const recording = workspace.view.getState().recordingId;
  const stretch = comparing.stretches(recording)[comparing.store.getState().checking];
  if (!stretch) return nextStretch(workspace, app);
  const outcome = comparing.isChanged(recording, stretch) ? 'changed' : 'confirmed';
  const change = recordOutcome(active(workspace).review, stretch, outcome);
  const origin = outcome === 'changed' ? 'new' : 'both';
  if (change && !perform(workspace, app, 'settle', change, '', { recording, origin })) return false;
  nextStretch(workspace, app);
  return true;
}
