import type { HandedNames, ReturnHandling } from '../../core/review/privacy/leaving-handover';
import type { SignalChecksums } from '../../core/review/raters/merge';
import { collection } from '../../storage/collection';
import type { Library } from '../library';

/** One rater of a batch that was handed out as files. */
export interface BatchPerson {
  readonly rater: string;
  readonly sessions: readonly string[];
  /** What came back last; null before anything did. `at` is '' where the rater left dates out. */
  readonly returned: { readonly at: string; readonly reviews: number; readonly finished: number } | null;
}

/** A batch as whoever handed it out keeps it: a return is held against this. */
export interface Batch {
  readonly id: string;
  readonly title: string;
  readonly assignedAt: string;
  readonly due: string | null;
  /** With the codes and the sessions, enough to draw the same again. */
  readonly seed: number;
  readonly doubleShare: number;
  readonly people: readonly BatchPerson[];
  /** By session: what was handed out. */
  readonly signals: Readonly<Record<string, SignalChecksums>>;
  /** By session, when something that identifies people was left out: under which names it was handed out. */
  readonly handedAs?: Readonly<Record<string, HandedNames>>;
}

/** An assignment as the rater keeps it. */
export interface ReceivedAssignment {
  readonly batch: string;
  readonly title: string;
  readonly rater: string;
  readonly due: string | null;
  readonly receivedAt: string;
  readonly sessions: readonly { readonly id: string; readonly title: string; readonly signals: SignalChecksums }[];
  /** What the last return left out; absent before the first. */
  readonly returnedAs?: ReturnHandling;
}

export const batches = async (library: Pick<Library, 'database'>) =>
  collection<Batch>(await library.database(), 'batch');

export const receivedAssignments = async (library: Pick<Library, 'database'>) =>
  collection<ReceivedAssignment>(await library.database(), 'assignment');
