import { type EditLog, newLog } from '../../core/marks/log';
import { ecgLeadOf } from '../../core/recording/ecg-lead';
import { logHeader, type Session } from '../../core/review/session';
import { sessionsFetchedInPart } from '../../storage/fetched-parts';
import { lockSession, openUnder, type SessionLock } from '../../storage/locks';
import { StorageProblem } from '../../storage/problem';
import { type HasClocks, restoreClocks } from '../clocks/fits';
import type { HasLibrary, SavedView } from '../library';
import { practiceMissing, withRequiredPractice } from '../practice/required';
import type { Prefs, PrefsStore } from '../stores/prefs-store';
import type { HasUi, Notices } from '../stores/ui-store';
import { createViewStore, type ViewState, type ViewStore } from '../stores/view-store';
import type { ArrivingSignals } from './arriving';
import { type Followed, followArriving, gateWhileArriving, pageIsHere } from './following';
import { createOccurrences } from './occurrences';
import { createProposals } from './proposals';
import { createReviewStore } from './review-store';
import { followSamples } from './sampling';
import { createSignals, type Signals } from './signals';
import { createSuspicions } from './suspicions';
import { storedBeginning } from './unblinding';
import { followOthers } from './visibility';
import { openGate, type ReviewWorkspace, scoresOf, type WorkspaceStore } from './workspace';

/** What showing a session where a rater left it needs. */
export interface Restoring extends HasLibrary {
  readonly prefs: { getState(): Pick<Prefs, 'pxPerMm'> };
}

/** What showing the signals of a session needs of the page, stored or on their way. */
export interface ShowingSignals extends HasLibrary, HasUi<Notices> {
  readonly arriving: ArrivingSignals;
}

/** What opening any review needs of the page. */
export interface Opening extends Restoring, HasClocks, ShowingSignals {
  readonly prefs: Restoring['prefs'] & Pick<PrefsStore, 'signedIn'>;
  now(): Date;
}

/**
 * Opens one rater's review of a stored session; only one tab writes, a second one reads along until the first lets go. `left`
 * is aborted when the review is no longer wanted, opened or not.
 */
export async function openReview(
  app: Opening,
  session: Session,
  rater: string,
  left?: AbortSignal,
): Promise<ReviewWorkspace> {
  const otherClosed = () => {
    app.ui.notify('The other tab closed this review. Reload this page to write here.', 'done');
  };
  const lock = await lockSession(session.id, rater, otherClosed, left);
  return openUnder(lock, () => openLocked(app, session, rater, lock));
}

async function openLocked(app: Opening, session: Session, rater: string, lock: SessionLock): Promise<ReviewWorkspace> {
  const { library } = app;
  if (lock.held) await library.foldLog(session.id, rater).catch(() => 0);
  const stored = await library.log(session.id, rater);
  if (stored === null) await sayIfMistyped(app, session, rater);
  const log = stored ?? newLog(logHeader(session, rater));
  if (log.header.role === 'adjudicator') {
    throw new Error(`${rater} settles differences in this session: rate with a code of your own.`);
  }
  // Not kept with the session: a study may ask for something else tomorrow.
  const asking = await withRequiredPractice(library, session);
  const unpractised = await practiceMissing(library, asking, rater);
  const review = createReviewStore(
    {
      session,
      log,
      others: [],
      access: lock.held
        ? { writable: unpractised === null, why: unpractised }
        : { writable: false, why: 'this review is open for writing in another tab' },
      first: await storedBeginning(library, log),
    },
    saveEntry(app),
    app.now,
  );
  const signals = createSignals(session.recordings.map(r => r.recording));
  const arriving = await openSignals(app, session, signals);
  // One that was opened while nothing was on its way gets its signals all the same, should they be fetched.
  const { stop: stopArriving } = arriving ?? followArriving(app, session, new Map(), signals);
  await restoreClocks(app, session);
  const view = createViewStore();
  await restoreView(app, session, rater, view);
  const stopKeeping = saveView(app, session, rater, view);
  const stopFollowing = followOthers(library, review);
  const stopSharing = followSamples(app, review);
  const suspicions = createSuspicions(review, offerAgain(app), arriving?.stored);
  const proposals = createProposals(review);
  const onScreen = () => pageIsHere(workspace);
  const workspace: ReviewWorkspace = {
    review,
    view,
    signals,
    suspicions,
    proposals,
    occurrences: createOccurrences(),
    purpose: 'review',
    ...(asking.requiredPractice ? { requiredPractice: asking.requiredPractice } : {}),
    gate: arriving ? gateWhileArriving(onScreen) : openGate,
    ...(arriving ? { onScreen } : {}),
    scoreOf: scoresOf(review),
    async close() {
      lock.leave();
      stopArriving();
      stopKeeping();
      stopFollowing();
      stopSharing();
      suspicions.stop();
      proposals.stop();
      await review.settled();
      lock.release();
    },
  };
  return workspace;
}

/** Whoever types `r1` one day has not lost what is stored under `R1`, and must not begin it again unawares. */
async function sayIfMistyped({ library, ui, prefs }: Opening, session: Session, rater: string): Promise<void> {
  const isAlike = (other: string) => other !== rater && other.toLowerCase() === rater.toLowerCase();
  const meant = (await library.raters(session.id)).find(isAlike);
  if (meant === undefined) return;
  // While somebody is signed in, the field on the first page takes no other code.
  const first = prefs.signedIn() === rater ? 'sign out of the lab store, then ' : '';
  ui.notify(
    `This is a new review by ${rater}. The one stored here is by ${meant}: capital and small letters count. If you are ${meant}, ${first}correct your code on the first page.`,
  );
}

/** From the store; or, while they are being fetched, from where they come. Null where nothing is on its way. */
export async function openSignals(app: ShowingSignals, session: Session, signals: Signals): Promise<Followed | null> {
  const wasComing = app.arriving.leads(session.id) !== null;
  const { sources, absent } = await app.library.leads(session);
  const coming = absent.length > 0 ? app.arriving.leads(session.id) : null;
  if (coming) return followArriving(app, session, coming, signals);
  // The last of them was stored while this was looked up.
  if (absent.length > 0 && wasComing) return openSignals(app, session, signals);
  if (absent.length > 0) {
    const more = (await sessionsFetchedInPart()).has(session.id)
      ? 'sign in to the lab store and go on fetching'
      : 'import the recording again';
    app.ui.notify(`No signal is stored for ${absent.join('; ')}: ${more}.`);
  }
  for (const [id, leads] of sources) signals.replace(id, leads);
  return null;
}

function offerAgain(app: HasUi<Notices>) {
  return (error: unknown, tryAgain: () => void) => {
    const notice = app.ui.notify(
      `The signal could not be analysed for suspicious places: ${(error as Error).message}`,
      'needs you',
      {
        title: 'Try again',
        run: () => {
          app.ui.dismiss(notice);
          tryAgain();
        },
      },
    );
  };
}

export function saveEntry(app: HasLibrary): (log: EditLog, entry: EditLog['entries'][number]) => Promise<void> {
  return async (log, entry) => {
    try {
      await app.library.saveEntry(log.header, entry);
    } catch (error) {
      if (error instanceof StorageProblem) throw new Error(`${error.message} ${error.remedy}`);
      throw error;
    }
  };
}

const keptFields = [
  'recordingId',
  'caret',
  'mmPerSecond',
  'mmPerMv',
  'rows',
  'leads',
  'bothRecorders',
  'filters',
  'segmentOnly',
] as const satisfies readonly (keyof SavedView)[];

function savedView(state: ViewState): SavedView {
  const fields = Object.fromEntries(keptFields.map(f => [f, state[f]])) as Pick<SavedView, (typeof keptFields)[number]>;
  return { ...fields, startSec: state.startSeconds };
}

function savedPlace({ startSec, ...fields }: SavedView): Partial<ViewState> {
  return { ...fields, startSeconds: startSec };
}

export async function restoreView(app: Restoring, session: Session, rater: string, view: ViewStore): Promise<void> {
  const first = session.recordings[0]!;
  const kept = await app.library
    .views()
    .then(views => views.get(session.id, rater))
    .catch(() => null);
  const known = kept && session.recordings.some(r => r.recording.id === kept.recordingId) ? kept : null;
  view.setState({
    recordingId: first.recording.id,
    leads: ecgLeadOf(first.recording),
    caret: (first.detected[0] ?? 0) as SavedView['caret'],
    pxPerMm: app.prefs.getState().pxPerMm,
    ...(known ? savedPlace(known) : {}),
  });
}

/** Keeps the place while the rater works, a moment after the last movement and on leaving. */
export function saveView(app: HasLibrary, session: Session, rater: string, view: ViewStore): () => void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const keep = () => {
    clearTimeout(timer);
    const kept = savedView(view.getState());
    // Where one was is a convenience: losing it is not worth a word.
    void app.library
      .views()
      .then(views => views.put(kept, session.id, rater))
      .catch(() => undefined);
  };
  const stop = view.subscribe((now, before) => {
    if (now.startSeconds === before.startSeconds && keptFields.every(f => now[f] === before[f])) return;
    clearTimeout(timer);
    timer = setTimeout(keep, 300);
  });
  return () => {
    stop();
    keep();
  };
}

export async function leaveWorkspace(app: { readonly workspace: WorkspaceStore }): Promise<void> {
  const { workspace } = app.workspace.getState();
  app.workspace.setState({ workspace: null });
  await workspace?.close();
}
