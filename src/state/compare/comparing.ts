import { createStore, type StoreApi } from 'zustand/vanilla';
import type { Change, Operation, RecordingReview } from '../../core/marks/edit';
import { type EditLog, type Intent, newLog, type Replayed, replay } from '../../core/marks/log';
import { between } from '../../core/marks/markset';
import { intersect, subtract, totalLength } from '../../core/marks/spans';
import { alteredSpans, isRefusal, type Refusal } from '../../core/review/edits';
import type { Viewer } from '../../core/review/raters/blind';
import { type Comparison, compareRaters } from '../../core/review/raters/compare';
import type { Disagreement, DisagreementKind } from '../../core/review/raters/disagreements';
import { settlementOf } from '../../core/review/raters/settle';
import { isPassThrough, settledLogs } from '../../core/review/raters/settled-logs';
import { planOf, type SpotCheckPlan, spotCheckStretches } from '../../core/review/raters/spot-check';
import { detectedOf, logHeader, type Session } from '../../core/review/session';
import type { Span } from '../../core/units';
import { lockSession, openUnder, type SessionLock } from '../../storage/locks';
import { followArriving, gateWhileArriving, pageIsHere } from '../review/following';
import { createOccurrences } from '../review/occurrences';
import { type Opening, openSignals, restoreView, saveEntry, saveView } from '../review/opening';
import { createReviewStore, type ReviewStore, reviewOf } from '../review/review-store';
import { createSignals } from '../review/signals';
import { noSuspicions } from '../review/suspicions';
import { readVisible } from '../review/visibility';
import { itemOf, openGate, type ReviewWorkspace, scoresOf } from '../review/workspace';
import { createViewStore } from '../stores/view-store';

export interface CompareState {
  /** Codes chosen for A and B; null when fewer than two reviews may be seen. */
  readonly pair: { readonly a: string; readonly b: string } | null;
  /** The kind of differences walked; null for all. */
  readonly kind: DisagreementKind | null;
  /** The current difference, by its place in the list of its recording; -1 for none. */
  readonly inHand: number;
  /** The stretch of the spot check current, likewise. */
  readonly checking: number;
}

/** What a workspace that compares two raters has beside a review's. */
export interface Comparing {
  readonly viewer: Viewer;
  readonly store: StoreApi<CompareState>;
  /** Reviews that may be compared, by code. */
  raters(): readonly EditLog[];
  /** The two compared, as they stood when settling began if it has. */
  logs(): { readonly a: EditLog; readonly b: EditLog; readonly grown: boolean } | null;
  comparisonOf(recordingId: string): Comparison | null;
  /** Whether what the two agree on has passed into an adjudicated log. */
  settling(): boolean;
  plan(): SpotCheckPlan | null;
  /** The stretches drawn for the spot check. */
  stretches(recordingId: string): readonly Span[];
  /** Whether marks or unreadable spans in a stretch are no longer what passed through. */
  isChanged(recordingId: string, stretch: Span): boolean;
  /**
   * An edit as it may enter the adjudicated log: refused outside what is disputed or spot-checked; where something was
   * settled or checked before, that answer is taken back with it.
   */
  admit(recordingId: string, intent: Intent, change: Change): Change | Refusal;
}

const readOnly = 'comparing changes nothing: reviews are edited in the review';

/** Opens the comparison for someone who may see finished reviews: a rater who has finished, or a supervisor. */
export async function openComparing(
  app: Omit<Opening, 'clocks'>,
  session: Session,
  viewer: Viewer,
  left?: AbortSignal,
): Promise<ComparisonWorkspace> {
  const lock = viewer.role === 'adjudicator' ? await lockSession(session.id, viewer.rater, undefined, left) : null;
  return openUnder(lock, () => openLocked(app, session, viewer, lock));
}

async function openLocked(
  app: Omit<Opening, 'clocks'>,
  session: Session,
  viewer: Viewer,
  lock: SessionLock | null,
): Promise<ComparisonWorkspace> {
  const { library } = app;
  const visible = await readVisible(library, session, viewer);
  const held = lock?.held ?? false;
  const access = lock
    ? { writable: held, why: held ? null : 'these differences are being settled in another tab' }
    : { writable: false, why: readOnly };
  const own = visible.find(l => l.header.rater === viewer.rater);
  const log = own ?? newLog(logHeader(session, viewer.rater, viewer.role));
  const others = visible.filter(l => l !== own);
  const review = createReviewStore({ session, log, others, access }, saveEntry(app), app.now);
  const signals = createSignals(session.recordings.map(r => r.recording));
  const arriving = await openSignals(app, session, signals);
  const { stop: stopArriving } = arriving ?? followArriving(app, session, new Map(), signals);
  const view = createViewStore();
  const place = `comparing as ${viewer.rater}`;
  view.setState({ rows: 1 });
  await restoreView(app, session, place, view);
  view.setState({ bothRecorders: false });
  const stopKeeping = saveView(app, session, place, view);
  const comparing = createComparing(review, viewer);
  const onScreen = () => pageIsHere(workspace);
  const waiting = arriving ? gateWhileArriving(onScreen) : openGate;
  const workspace: ComparisonWorkspace = {
    review,
    view,
    signals,
    suspicions: noSuspicions(true),
    occurrences: createOccurrences(),
    purpose: 'settle',
    // What a supervisor places belongs to neither rater, and only where it is theirs to decide.
    gate: {
      admit(id, intent, change) {
        // What both agree on passes through unseen: one entry a recording, the first of the log.
        const begins = review.get().log.entries.length < session.recordings.length;
        const waited = begins ? change : waiting.admit(id, intent, change);
        return isRefusal(waited) ? waited : comparing.admit(id, intent, change);
      },
      origin: 'new',
    },
    ...(arriving ? { onScreen } : {}),
    comparing,
    scoreOf: scoresOf(review),
    async close() {
      lock?.leave();
      stopArriving();
      stopKeeping();
      await review.settled();
      lock?.release();
    },
  };
  return workspace;
}

/** Intents that change what stands; the others record what was settled or looked at. */
const edits: ReadonlySet<Intent> = new Set(['accept', 'move', 'delete', 'insert', 'unreadable', 'readable']);

export function createComparing(review: ReviewStore, viewer: Viewer): Comparing {
  const raters = () => {
    const { log, others } = review.get();
    const all = [log, ...others].filter(l => l.header.role === 'rater');
    return all.sort((x, y) => (x.header.rater < y.header.rater ? -1 : 1));
  };
  const store = createStore<CompareState>(() => ({
    pair: firstPair(raters(), viewer),
    kind: null,
    inHand: -1,
    checking: -1,
  }));
  const settling = () => viewer.role === 'adjudicator' && review.get().log.entries.some(isPassThrough);
  const logs = () => {
    if (settling()) return settledLogs(review.get().log, raters());
    const { pair } = store.getState();
    const find = (code: string | undefined) => raters().find(l => l.header.rater === code);
    const [a, b] = [find(pair?.a), find(pair?.b)];
    return a && b ? { a, b, grown: false } : null;
  };
  const replayed = createReplays(review);
  const comparisonOf = keptComparisons(review, replayed, logs);
  const stretches = keptStretches(review, comparisonOf);
  const atStart = (id: string): RecordingReview => {
    const { log } = review.get();
    const first = log.entries.findIndex(e => !isPassThrough(e));
    return replayed({
      header: log.header,
      entries: first === -1 ? log.entries : log.entries.slice(0, first),
    }).recordings.get(id)!;
  };
  return {
    viewer,
    store,
    raters,
    logs,
    comparisonOf,
    settling,
    plan: () => planOf(review.get().replayed),
    stretches,
    isChanged: (id, stretch) => differsIn(atStart(id), reviewOf(review.get(), id), stretch),
    admit(id, intent, change) {
      if (!edits.has(intent)) return change;
      if (!settling()) return { refused: 'Begin settling first.' };
      const now = reviewOf(review.get(), id);
      return admitted(comparisonOf(id), stretches(id), now, change);
    },
  };
}

function firstPair(raters: readonly EditLog[], viewer: Viewer): CompareState['pair'] {
  const codes = raters.map(l => l.header.rater);
  const a = codes.includes(viewer.rater) ? viewer.rater : codes[0];
  const b = codes.find(c => c !== a);
  return a !== undefined && b !== undefined ? { a, b } : null;
}

/** Replays remembered by rater and length: logs only grow. */
function createReplays(review: ReviewStore): (log: EditLog) => Replayed {
  const known = new Map<string, Replayed>();
  return log => {
    const key = `${log.header.rater} ${log.entries.length} ${log.entries.at(-1)?.hash ?? ''}`;
    const found = known.get(key);
    if (found) return found;
    const fresh = replay(log, detectedOf(review.get().session));
    known.set(key, fresh);
    return fresh;
  };
}

function differsIn(before: RecordingReview, now: RecordingReview, stretch: Span): boolean {
  const marks = (r: RecordingReview) => between(r.marks, stretch.start, stretch.end).join(' ');
  const spans = (r: RecordingReview) => intersect(r.unreadable, [stretch]);
  const differing = [...subtract(spans(before), spans(now)), ...subtract(spans(now), spans(before))];
  return marks(before) !== marks(now) || totalLength(differing) > 0;
}

function admitted(
  comparison: Comparison | null,
  stretches: readonly Span[],
  now: RecordingReview,
  change: Change,
): Change | Refusal {
  if (!comparison) return { refused: 'There is nothing to settle here.' };
  const altered = alteredSpans(now, change);
  const touched = (spans: readonly Span[]) => intersect(altered, spans).length > 0;
  const open = [...comparison.disagreements.flatMap(d => d.territory), ...stretches];
  if (subtract(altered, open).length > 0) {
    return { refused: 'Both raters agree here: edits belong where they differ, or in a stretch of the spot check.' };
  }
  const settled = comparison.disagreements.filter(d => touched(d.territory)).map(d => settlementOf(now, d));
  const checked = now.spotChecks.filter(c => stretches.some(s => s.start === c.at && touched([s])));
  return [
    ...change,
    ...settled.filter(s => s !== null).map((before): Operation => ({ op: 'settlement', before, after: null })),
    ...checked.map((before): Operation => ({ op: 'spotCheck', before, after: null })),
  ];
}

export interface ComparisonWorkspace extends ReviewWorkspace {
  readonly purpose: 'settle';
  readonly comparing: Comparing;
}

export function isComparison(workspace: ReviewWorkspace): workspace is ComparisonWorkspace {
  return workspace.purpose === 'settle';
}

/** The current difference on the recording shown. */
export function currentDifference(workspace: ComparisonWorkspace): Disagreement | null {
  const { comparing } = workspace;
  const id = itemOf(workspace, workspace.view.getState().recordingId).recording.id;
  return comparing.comparisonOf(id)?.disagreements[comparing.store.getState().inHand] ?? null;
}

/** The comparison of each recording, made again only when one of the two reviews or the settings have changed. */
function keptComparisons(
  review: ReviewStore,
  replayed: ReturnType<typeof createReplays>,
  logs: Comparing['logs'],
): Comparing['comparisonOf'] {
  const comparisons = new Map<string, Comparison>();
  return id => {
    const pair = logs();
    if (!pair) return null;
    const { session } = review.get();
    const item = session.recordings.find(r => r.recording.id === id)!;
    const a = replayed(pair.a).recordings.get(id)!;
    const b = replayed(pair.b).recordings.get(id)!;
    const known = comparisons.get(id);
    const p = known?.pair;
    if (known && p?.item === item && p.a === a && p.b === b && p.settings === session.settings) return known;
    const fresh = compareRaters({ item, a, b, settings: session.settings });
    comparisons.set(id, fresh);
    return fresh;
  };
}

/** The stretches drawn for the spot check of each recording, drawn again only when the comparison or the plan has changed. */
function keptStretches(review: ReviewStore, comparisonOf: Comparing['comparisonOf']): Comparing['stretches'] {
  const drawn = new Map<string, { from: Comparison; plan: string; spans: readonly Span[] }>();
  return id => {
    const chosen = planOf(review.get().replayed);
    const comparison = comparisonOf(id);
    if (!chosen || !comparison) return [];
    const key = Object.values(chosen).join(' ');
    const known = drawn.get(id);
    if (known?.from === comparison && known.plan === key) return known.spans;
    const spans = spotCheckStretches(comparison, chosen);
    drawn.set(id, { from: comparison, plan: key, spans });
    return spans;
  };
}
