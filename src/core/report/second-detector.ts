import { leadsWith } from '../detector/lead-choice';
import { detectorName } from '../detector/name';
import { between, type Marks, marksFrom } from '../marks/markset';
import { BeatOutcome, type MatchSettings, match } from '../marks/match';
import { covers, normalise, union } from '../marks/spans';
import { ecgLeadOf } from '../recording/ecg-lead';
import type { Recording } from '../recording/recording';
import type { BySession } from '../review/privacy/leaving-study';
import type { Session, SessionRecording } from '../review/session';
import { type ReviewedScore, type ReviewedSegment, reviewedScore } from '../review/standing/reviewed-score';
import { scoreReview } from '../review/standing/score-review';
import { qualityOf } from '../score/measures';
import { type Computed, notComputable } from '../score/result';
import type { Span } from '../units';
import type { CountedReview } from './counted-review';

/**
 * How far the reference may lean towards the marks that the raters started from. The built-in detector goes over the
 * signal alone and is given no mark. Where a rater left a mark, or the lack of one, as it was found and this detector says
 * otherwise, the start may have decided; with all of these decided the other way the quality is computed once more.
 */

/** Beats of the second detector, and where it could not see. Samples of the recording. */
export interface SecondBeats {
  readonly samples: Marks;
  readonly unsure: readonly Span[];
}

/** By session, then recording; a text where there are none says why. */
export type SecondDetector = BySession<SecondBeats | string>;

/** Said of a recording whose signal is not where its marks are. */
export const signalAbsent = 'the signal is not at hand';

/** Numbers of the leads that the second detector is given, the first being that of the marks; else why it cannot be. */
export function secondLeads(recording: Recording): readonly number[] | string {
  const first = ecgLeadOf(recording);
  const rate = recording.leads[first]?.samplingRateHz;
  if (rate === undefined || rate !== recording.samplingRateHz) return 'no lead runs at the rate of the marks';
  if (rate < 50 || rate > 10_000) return 'the second detector works from 50 to 10000 Hz';
  return leadsWith(first, recording.leads);
}

/** The second detector over all recordings, one after the other. `beatsOf` is given the numbers of the leads to look at. */
export async function secondOfAll(
  sessions: readonly Pick<Session, 'id' | 'recordings'>[],
  beatsOf: (session: string, recording: Recording, leads: readonly number[]) => Promise<SecondBeats | string>,
  onSession: (done: number) => void = () => undefined,
): Promise<SecondDetector> {
  const out: Record<string, Record<string, SecondBeats | string>> = {};
  for (const [i, { id, recordings }] of sessions.entries()) {
    const own: Record<string, SecondBeats | string> = {};
    for (const { recording } of recordings) {
      const leads = secondLeads(recording);
      own[recording.id] = typeof leads === 'string' ? leads : await beatsOf(id, recording, leads);
    }
    out[id] = own;
    onSession(i + 1);
  }
  return out;
}

/** What the rater's decisions in one recording look like to the second detector; places are samples, ascending. */
export interface AgainstSecond {
  /** Kept as found, where the second detector has no beat, or has one and there is no mark. */
  readonly asFound: Marks;
  /** Changed, to what the second detector has too. */
  readonly changed: Marks;
  /** As `asFound`, but the second detector could not see there. */
  readonly unheard: Marks;
  /** The reviewed beats, with all of `asFound` decided the other way. */
  readonly otherWay: Marks;
}

/** All within what is readable. */
export function againstSecond(
  item: Pick<SessionRecording, 'detected' | 'recording'>,
  review: { readonly marks: Marks; readonly unreadable: readonly Span[] },
  second: SecondBeats,
  settings: MatchSettings,
): AgainstSecond {
  const { gaps, samplingRateHz } = item.recording;
  const left = union(review.unreadable, gaps);
  const pairs = (a: Marks, b: Marks) => match(a, b, left, samplingRateHz, settings);
  const toFound = pairs(review.marks, item.detected);
  const toSecond = pairs(review.marks, second.samples);
  const foundToSecond = pairs(second.samples, item.detected);
  const unsure = normalise(second.unsure);
  const out = { asFound: [] as number[], changed: [] as number[], unheard: [] as number[] };
  const removed = new Set<number>();
  const added: number[] = [];
  for (const [k, beat] of toFound.beats.entries()) {
    const kept = toFound.outcome[k] === BeatOutcome.onPeak;
    const seconded = toSecond.outcome[k] === BeatOutcome.onPeak;
    if (kept === seconded) continue;
    if (seconded) out.changed.push(beat);
    else if (covers(unsure, beat)) out.unheard.push(beat);
    else {
      out.asFound.push(beat);
      removed.add(beat);
      // On another wave of this beat: there, then, is its peak.
      const other = toSecond.markOfBeat[k]!;
      if (other >= 0) added.push(toSecond.marks[other]!);
    }
  }
  for (const j of toSecond.marksOffPeak) {
    const place = toSecond.marks[j]!;
    // A mark that both have and the rater took out is the rater's own decision, against both.
    const alone = toSecond.beatOfMark[j]! < 0 && foundToSecond.outcome[j] !== BeatOutcome.onPeak;
    if (!alone) continue;
    if (covers(unsure, place)) out.unheard.push(place);
    else {
      out.asFound.push(place);
      added.push(place);
    }
  }
  // Marks that the rater took out and the second detector does not have.
  for (const j of foundToSecond.marksOffPeak) {
    const place = foundToSecond.marks[j]!;
    if (toFound.beatOfMark[j]! < 0) out.changed.push(place);
  }
  return {
    asFound: marksFrom(out.asFound),
    changed: marksFrom(out.changed),
    unheard: marksFrom(out.unheard),
    otherWay: marksFrom([...toFound.beats.filter(b => !removed.has(b)), ...added]),
  };
}

/** One segment whose review is final or a sample. */
export interface SecondDetectorRow {
  readonly session: string;
  readonly volunteer: string;
  readonly recorder: string;
  readonly activity: string;
  readonly source: string;
  readonly standing: 'final' | 'sampled';
  /** Reviewed beats in what was looked at; null where the second detector has nothing to say. */
  readonly beats: number | null;
  readonly asFound: number | null;
  readonly changed: number | null;
  readonly unheard: number | null;
  /** As reviewed, in percent; n = judged and lost intervals, of a sample stretches. */
  readonly quality: Computed;
  /** With every place left as found decided the other way. */
  readonly otherWay: Computed;
  /** Intervals, and right ones, each way; null of samples and where there is no number. */
  readonly counts: BothCounts | null;
}

interface BothCounts {
  readonly right: number;
  readonly whole: number;
  readonly otherRight: number;
  readonly otherWhole: number;
}

/** One recorder over all segments that are final. */
export interface SecondDetectorSum {
  readonly recorder: string;
  readonly segments: number;
  readonly beats: number;
  readonly asFound: number;
  readonly changed: number;
  readonly unheard: number;
  /** Pooled, in percent; n = judged and lost intervals. */
  readonly quality: Computed;
  readonly otherWay: Computed;
}

export interface SecondDetectorPass {
  readonly rows: readonly SecondDetectorRow[];
  readonly sums: readonly SecondDetectorSum[];
}

export function secondDetectorPass(rows: readonly SecondDetectorRow[]): SecondDetectorPass {
  const recorders = [...new Set(rows.map(r => r.recorder))];
  return { rows, sums: recorders.map(recorder => sumOf(recorder, rows)) };
}

function sumOf(recorder: string, all: readonly SecondDetectorRow[]): SecondDetectorSum {
  const rows = all.filter(r => r.recorder === recorder && r.counts !== null);
  const sum = (of: (row: SecondDetectorRow) => number) => rows.reduce((n, row) => n + of(row), 0);
  const reasons = all.flatMap(r => (r.recorder === recorder && r.otherWay.value === null ? r.otherWay.reason : []));
  const share = (right: number, whole: number): Computed =>
    whole > 0 ? { value: (100 * right) / whole, n: whole } : notComputable(reasons[0] ?? 'no segment is final');
  return {
    recorder,
    segments: rows.length,
    beats: sum(r => r.beats ?? 0),
    asFound: sum(r => r.asFound ?? 0),
    changed: sum(r => r.changed ?? 0),
    unheard: sum(r => r.unheard ?? 0),
    quality: share(
      sum(r => r.counts!.right),
      sum(r => r.counts!.whole),
    ),
    otherWay: share(
      sum(r => r.counts!.otherRight),
      sum(r => r.counts!.otherWhole),
    ),
  };
}

/** Rows of one review. `scoreOf` is the score as reviewed. */
export function secondDetectorRows(
  counted: CountedReview,
  second: SecondDetector,
  settings: MatchSettings,
  scoreOf: (item: SessionRecording) => ReviewedScore,
): SecondDetectorRow[] {
  return counted.session.recordings.flatMap((item): SecondDetectorRow[] => {
    const heard = heardOf(item, second[counted.session.id]?.[item.recording.id]);
    const score = scoreOf(item);
    const head = (of: ReviewedSegment) => ({
      session: counted.session.id,
      volunteer: counted.session.participant,
      recorder: item.recording.recorder,
      activity: of.segment.name,
      source: counted.source,
      standing: of.standing.status as 'final' | 'sampled',
      quality: qualityOf(of).quality,
    });
    if (typeof heard === 'string') {
      const none = { beats: null, asFound: null, changed: null, unheard: null, counts: null };
      return usable(score).map(of => ({ ...head(of), ...none, otherWay: notComputable(heard) }));
    }
    const review = counted.recordings.get(item.recording.id)!;
    const found = againstSecond(item, review, heard, settings);
    const scored = scoreReview(item, { marks: found.otherWay, unreadable: review.unreadable }, settings);
    // What was looked at stays what it was: only where the beats are is decided the other way.
    const other = reviewedScore(scored, item, counted.groundsOf(item.recording.id));
    return usable(score).map(of => {
      const twin = other.segments.find(s => s.segment === of.segment || s.segment.name === of.segment.name)!;
      const within = (places: Marks) => of.counted.reduce((n, p) => n + between(places, p.start, p.end).length, 0);
      return {
        ...head(of),
        beats: within(review.marks),
        asFound: within(found.asFound),
        changed: within(found.changed),
        unheard: within(found.unheard),
        otherWay: qualityOf(twin).quality,
        counts: bothCounts(of, twin),
      };
    });
  });
}

const usable = (score: ReviewedScore) =>
  score.segments.filter(s => s.standing.status === 'final' || s.standing.status === 'sampled');

/** The same detector on the same signal says nothing new. */
function heardOf({ detectedBy }: SessionRecording, second: SecondBeats | string | undefined): SecondBeats | string {
  if (detectedBy.startsWith(familyName)) return 'the marks under test are of the same detector';
  return second ?? signalAbsent;
}

/** Without its version. */
const familyName = detectorName.replace(/ \d+$/, '');

function bothCounts(of: ReviewedSegment, twin: ReviewedSegment): BothCounts | null {
  if (of.standing.status !== 'final' || of.counts.lost === null || twin.counts.lost === null) return null;
  return {
    right: of.counts.right,
    whole: of.counts.judged + of.counts.lost,
    otherRight: twin.counts.right,
    otherWhole: twin.counts.judged + twin.counts.lost,
  };
}
