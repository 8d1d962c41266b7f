import type { RecordingReview } from '../../core/marks/edit';
import { canonicalJson, newLog } from '../../core/marks/log';
import { covers } from '../../core/marks/spans';
import type { EdgeGrading } from '../../core/review/practice/edges';
import {
  type Grade,
  gradeReview,
  hintPoints,
  hintStep,
  hintSteps,
  hintsTaken,
} from '../../core/review/practice/practice';
import type { PracticeLesson } from '../../core/review/practice/practice-lesson';
import { type ShownTruth, shownTruth } from '../../core/review/practice/shown-truth';
import { workedLog } from '../../core/review/practice/worked-example';
import { isFinished } from '../../core/review/raters/blind';
import { logHeader } from '../../core/review/session';
import type { KeyPlace } from '../../core/simulate/lesson-key';
import type { Span } from '../../core/units';
import { lockSession, openUnder, type SessionLock } from '../../storage/locks';
import { createOccurrences, type Occurrences } from '../review/occurrences';
import { type Opening, restoreView, saveEntry, saveView } from '../review/opening';
import { type Access, createReviewStore, type ReviewStore, reviewOf } from '../review/review-store';
import { createSignals } from '../review/signals';
import { noSuspicions } from '../review/suspicions';
import { openGate, type ReviewWorkspace, scoresOf } from '../review/workspace';
import { createViewStore } from '../stores/view-store';
import { type FeedbackItem, feedbackItems } from './feedback';
import { type HintShown, hintShown, stretchOf } from './hints';
import { gradingKept, saveBegun, saveDone } from './progress';
import { isWorkedExample, type LessonInHand, type PracticeTask, type Prepared, prepareLesson } from './task';

/** A place pointed out in the strip: a bracket under the trace, and what in it tells. */
export interface Pointer {
  readonly span: Span;
  readonly label: string;
  /** Where its telling feature shows. */
  readonly lane: 'trace' | 'interval';
  /** Samples of the R peak and of the mark to point at. */
  readonly peak: number | null;
  readonly mark: number | null;
  readonly current: boolean;
}

/** What a lesson's workspace has beside a review's: the lesson with its answers. Shown bit by bit for hints, whole when done. */
export interface Practice extends LessonInHand {
  /** How the edges of unreadable stretches are graded in this lesson. */
  readonly edges: EdgeGrading;
  done(): boolean;
  /** Of the review as it stands; not for the page before the lesson is done. */
  grade(): Grade;
  hints(): number;
  /** What the hints cost so far, 0 or less. */
  hintPoints(): number;
  /** Hints taken on places that are not right yet. */
  hinted(): readonly HintShown[];
  /** The place of the next hint: the one whose stretch holds `caret`, until shown in full; then from `caret` on, then from the start. */
  nextHint(caret: number): KeyPlace | null;
  /** Null before a lesson is done that was sampled, and for any other. */
  truth(): ShownTruth | null;
  /** The places to walk; empty before the lesson is done. */
  feedback(): readonly FeedbackItem[];
  pointers(): readonly Pointer[];
}

export interface LessonWorkspace extends ReviewWorkspace {
  readonly purpose: 'practice';
  readonly practice: Practice;
}

export function isLesson(workspace: ReviewWorkspace): workspace is LessonWorkspace {
  return workspace.purpose === 'practice';
}

export const doneAccess: Access = { writable: false, why: 'this lesson is done and graded' };

const exampleAccess: Access = { writable: false, why: 'this is a worked example' };

export function createPractice(
  task: PracticeTask,
  lesson: PracticeLesson,
  review: ReviewStore,
  occurrences: Occurrences,
  edges: EdgeGrading,
): Practice {
  const { id } = lesson.item.recording;
  const now = () => reviewOf(review.get(), id);
  const done = () => isFinished(review.get().log);
  const grade = remembered(r => gradeReview(lesson.item, lesson.key, r, lesson.session.settings, edges));
  const feedback = remembered(r => feedbackItems(lesson.item, lesson.key, r, grade(r), edges));
  const truth = remembered(r => shownTruth(lesson, r));
  // A sampled lesson gives no hints: which of its mistakes are asked for is known only once they were on the page.
  const wrong = () =>
    lesson.sample
      ? []
      : grade(now())
          .answers.filter(a => a.answer !== 'found')
          .map(a => a.place);
  const practice: Practice = {
    task,
    lesson,
    edges,
    done,
    grade: () => grade(now()),
    hints: () => hintsTaken(now()),
    hintPoints: () => hintPoints(now()),
    hinted: () => wrong().flatMap(place => hintShown(lesson, place, hintStep(now(), place)) ?? []),
    nextHint(caret) {
      const shown = practice.hinted().find(h => h.step < hintSteps && covers([stretchOf(lesson, h.place)], caret));
      if (shown) return shown.place;
      const fresh = wrong().filter(p => hintStep(now(), p) === 0);
      const begun = wrong().filter(p => hintStep(now(), p) < hintSteps);
      const left = fresh.length > 0 ? fresh : begun.length > 0 ? begun : wrong();
      return left.find(p => p.span.end > caret + 1) ?? left[0] ?? null;
    },
    truth: () => (done() && lesson.sample ? truth(now()) : null),
    feedback: () => (done() ? feedback(now()) : []),
    pointers() {
      if (done()) return practice.feedback().map((item, i) => feedbackPointer(item, i, occurrences.getState().at));
      return practice.hinted().map(hintPointer);
    },
  };
  return practice;
}

/** The answer for one review, kept until the review is another. */
function remembered<T>(work: (review: RecordingReview) => T): (review: RecordingReview) => T {
  let known: { review: RecordingReview; answer: T } | null = null;
  return review => {
    if (known?.review !== review) known = { review, answer: work(review) };
    return known.answer;
  };
}

function feedbackPointer(item: FeedbackItem, i: number, at: number): Pointer {
  const current = i === at;
  return {
    span: item.span,
    label: current ? `${i + 1}: ${item.what}` : String(i + 1),
    lane: item.feature === 'interval' ? 'interval' : 'trace',
    peak: current ? item.beat : null,
    mark: current ? item.mark : null,
    current,
  };
}

function hintPointer({ place, step, span: shown }: HintShown): Pointer {
  const lane = step === hintSteps && place.feature === 'interval' ? 'interval' : 'trace';
  return { span: shown, label: 'hint', lane, peak: null, mark: null, current: true };
}

/** The list of places walked after the lesson, from the first one on. */
export function showFeedbackPlaces(workspace: ReviewWorkspace, practice: Practice): void {
  const places = practice.feedback().map(f => f.at);
  workspace.occurrences.setState({ title: 'Place', recordingId: practice.lesson.item.recording.id, places, at: -1 });
}

/** Opens a lesson as one learner has it: begun, half done or graded. Nothing suspicious is pointed out in it. */
export async function openPractice(
  app: Opening,
  task: PracticeTask,
  learner: string,
  left?: AbortSignal,
): Promise<LessonWorkspace> {
  const prepared = await prepareLesson(app.library, task);
  const { session } = prepared.lesson;
  const otherClosed = () => {
    app.ui.notify('The other tab closed this lesson. Reload this page to work here.', 'done');
  };
  const lock = await lockSession(session.id, learner, otherClosed, left);
  return openUnder(lock, () => openLocked(app, task, prepared, learner, lock));
}

async function openLocked(
  app: Opening,
  task: PracticeTask,
  { lesson, leads, absent }: Prepared,
  learner: string,
  lock: SessionLock,
): Promise<LessonWorkspace> {
  const { session } = lesson;
  const header = logHeader(session, learner, 'learner');
  if (lock.held) await app.library.foldLog(session.id, learner).catch(() => 0);
  const example = isWorkedExample(task);
  const log = example ? workedLog(lesson, learner) : ((await app.library.log(session.id, learner)) ?? newLog(header));
  if (canonicalJson(log.header) !== canonicalJson(header)) {
    throw new Error(
      'The stored work on this lesson belongs to other marks. Discard it on the practice page, then start again.',
    );
  }
  const elsewhere: Access = { writable: false, why: 'this lesson is open in another tab' };
  const open: Access = lock.held ? { writable: true, why: null } : elsewhere;
  const access = example ? exampleAccess : isFinished(log) ? doneAccess : open;
  const review = createReviewStore({ session, log, others: [], access }, saveEntry(app), app.now);
  if (absent.length > 0) app.ui.notify(`No signal is stored for ${absent.join('; ')}.`);
  const signals = createSignals([lesson.item.recording]);
  for (const [id, sources] of leads) signals.replace(id, sources);
  const view = createViewStore();
  await restoreView(app, session, learner, view);
  const stopKeeping = saveView(app, session, learner, view);
  const occurrences = createOccurrences();
  const practice = createPractice(task, lesson, review, occurrences, await gradingKept(app.library, log));
  const workspace: LessonWorkspace = {
    review,
    view,
    signals,
    suspicions: noSuspicions(true),
    occurrences,
    purpose: 'practice',
    gate: openGate,
    practice,
    ...(lesson.sample ? { givenSample: lesson.sample } : {}),
    scoreOf: scoresOf(review),
    async close() {
      lock.leave();
      stopKeeping();
      await review.settled();
      lock.release();
    },
  };
  if (practice.done()) {
    showFeedbackPlaces(workspace, practice);
    if (!example) await saveDone(app, practice, log);
  } else await saveBegun(app, practice, learner);
  return workspace;
}
