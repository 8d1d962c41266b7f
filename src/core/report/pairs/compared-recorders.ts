import { alignClocks } from '../../agreement/clock';
import type { SessionRecording } from '../../review/session';
import { segmentsUnderReview } from '../../review/standing/coverage';
import type { CountedReview } from '../counted-review';
import { finalItems, withFinalInBoth } from '../final-segments';
import type { KeptWork } from '../kept-work';
import type { ReportSettings } from '../rows';
import { cellsAgainstReference, cellsOfPair, type DetectedCell } from './as-detected';
import { type DetectedRow, detectedAgreement } from './detected-agreement';
import { type AgreementCell, type AgreementRow, agreementTable } from './recorder-agreement';
import { agreementCells, type ClockFacts, clockOf, type FoundClock } from './recorder-pairs';

export interface AgreementOfPair {
  readonly first: string;
  readonly second: string;
  readonly rows: readonly AgreementRow[];
  /** Differences and means of the measures that are drawn: one point a pair of values. */
  readonly points: readonly AgreementCell[];
}

/** One recorder as detected, against its reviewed beats (`second` null) or another as detected. */
export interface DetectedComparison {
  readonly first: string;
  readonly second: string | null;
  readonly rows: readonly DetectedRow[];
}

/** What two clocks are found from: the log's last hash stands for its whole review and the detected marks under it. */
function clockKey({ log, session }: CountedReview, recordings: readonly [string, string]): string | null {
  const last = log.entries.at(-1);
  return last ? [session.id, last.hash, ...recordings].join(' ') : null;
}

/** What recorders are compared with, and what parts of earlier comparisons are at hand. */
export interface ComparisonInput {
  readonly settings: ReportSettings;
  readonly kept: KeptWork;
  readonly foundClocks?: Map<string, FoundClock>;
  readonly onProgress?: (share: number) => void;
}

interface ComparedRecorders {
  readonly agreement: readonly AgreementOfPair[];
  /** Each recorder against its reviewed beats, then pairs of recorders. */
  readonly asDetected: readonly DetectedComparison[];
}

export function comparedRecorders(
  reviews: readonly CountedReview[],
  recorders: readonly string[],
  input: ComparisonInput,
): ComparedRecorders {
  const alone = recorders.map((first): DetectedComparison => {
    const cells = reviews.flatMap(counted => cellsAlone(counted, first, input));
    return { first, second: null, rows: detectedRows(cells, `of ${first}`, input) };
  });
  const { agreement, asDetected } = pairsOf(reviews, input);
  return { agreement, asDetected: [...alone, ...asDetected] };
}

/** The clocks of one session's recorders on that of its first. */
export function clocksOfSession(counted: CountedReview, input: ComparisonInput): ClockFacts[] {
  return wornTogether(counted.session.recordings).map(([first, other]) => clockOfPair(counted, first, other, input));
}

/** What of the comparisons hangs on one session alone, worked out ahead: `input.kept` then has it. */
export function compareAhead(counted: CountedReview, input: ComparisonInput): void {
  const { recordings } = counted.session;
  for (const recorder of new Set(recordings.map(r => r.recording.recorder))) cellsAlone(counted, recorder, input);
  for (const [reference, other] of wornTogether(recordings)) pairOf(counted, reference, other, input);
}

/** One recorder in one session against its reviewed beats. */
function cellsAlone(counted: CountedReview, recorder: string, { kept }: ComparisonInput): DetectedCell[] {
  return kept.of(`against reference ${counted.session.id} ${recorder}`, [counted], () =>
    finalItems(counted)
      .filter(item => item.recording.recorder === recorder)
      .flatMap(item => cellsAgainstReference(counted, item)),
  );
}

function detectedRows(cells: readonly DetectedCell[], name: string, { kept, settings }: ComparisonInput) {
  const { bootstrap, margins } = settings.statistics;
  return kept.of(`as detected ${name}`, [JSON.stringify([bootstrap, margins]), ...cells], () =>
    detectedAgreement(cells, bootstrap, margins),
  );
}

/**
 * Recordings of other recorders beside one of the session's first recorder. Where each activity is a recording of its own,
 * those of the same activity belong together.
 */
function wornTogether(items: readonly SessionRecording[]): [SessionRecording, SessionRecording][] {
  const isFirst = (item: SessionRecording) => item.recording.recorder === items[0]!.recording.recorder;
  const firsts = items.filter(isFirst);
  const names = (item: SessionRecording) => new Set(segmentsUnderReview(item).map(s => s.name));
  return items.flatMap(other => {
    if (isFirst(other)) return [];
    const own = names(other);
    const beside = firsts.length === 1 ? firsts[0] : firsts.find(f => [...names(f)].some(name => own.has(name)));
    return beside ? [[beside, other] as [SessionRecording, SessionRecording]] : [];
  });
}

/** Cells of one pair of recorders over all sessions. */
interface PairCells {
  readonly first: string;
  readonly second: string;
  readonly cells: AgreementCell[];
  readonly detected: DetectedCell[];
}

/** Every pair of recorders worn together, first by the order of each session's list. */
function pairsOf(reviews: readonly CountedReview[], input: ComparisonInput) {
  const { kept, settings } = input;
  const { bootstrap } = settings.statistics;
  const pairs = new Map<string, PairCells>();
  for (const [i, counted] of reviews.entries()) {
    input.onProgress?.(i / reviews.length);
    for (const [reference, other] of wornTogether(counted.session.recordings)) {
      const { facts, cells, detected } = pairOf(counted, reference, other, input);
      const names = `${facts.first}\n${facts.second}`;
      const pair = pairs.get(names) ?? { first: facts.first, second: facts.second, cells: [], detected: [] };
      pair.cells.push(...cells);
      pair.detected.push(...detected);
      pairs.set(names, pair);
    }
  }
  const named = [...pairs.entries()];
  const agreement = named.map(
    ([names, { first, second, cells }]): AgreementOfPair => ({
      first,
      second,
      rows: kept.of(`agreement ${names}`, [JSON.stringify(bootstrap), ...cells], () =>
        agreementTable(cells, bootstrap),
      ),
      points: cells.filter(c => c.measure !== 'rr'),
    }),
  );
  const asDetected = named.map(
    ([names, { first, second, detected }]): DetectedComparison => ({
      first,
      second,
      rows: detectedRows(detected, names, input),
    }),
  );
  return { agreement, asDetected };
}

/** Two recordings of one session: their clocks, and the cells of those of their segments that are final in both. */
function pairOf(counted: CountedReview, reference: SessionRecording, other: SessionRecording, input: ComparisonInput) {
  const facts = clockOfPair(counted, reference, other, input);
  const { clock } = facts;
  const name = ['pair', counted.session.id, reference.recording.id, other.recording.id].join(' ');
  return input.kept.of(name, [counted, facts], () => {
    const final = withFinalInBoth(counted, reference, other);
    if (!clock || !final) return { facts, cells: [], detected: [] };
    return {
      facts,
      cells: agreementCells(counted, final, other, clock),
      detected: cellsOfPair(counted, final, other, clock),
    };
  });
}

/** Without the pairs of beats that a clock was found by. */
export function briefly(clock: FoundClock): FoundClock {
  if (!clock.found) return { found: false, reason: clock.reason };
  const { offsetSeconds, driftPpm } = clock;
  return { found: true, offsetSeconds, driftPpm };
}

function clockOfPair(
  counted: CountedReview,
  reference: SessionRecording,
  other: SessionRecording,
  { kept, settings, foundClocks: found = new Map() }: ComparisonInput,
): ClockFacts {
  const names = [reference.recording.id, other.recording.id] as const;
  const given = settings.clocks[counted.session.id]?.[other.recording.id];
  return kept.of(['clock', counted.session.id, ...names].join(' '), [counted, JSON.stringify(given ?? null)], () => {
    const key = clockKey(counted, [...names]);
    return clockOf(counted, reference, other, given, (a, b) => {
      const fit = (key && found.get(key)) || briefly(alignClocks(a, b));
      if (key) found.set(key, fit);
      return fit;
    });
  });
}
