import { createStore } from 'zustand/vanilla';
import { BeatOutcome } from '../../core/marks/match';
import type { RecordingScore } from '../../core/score/score';
import type { SampleIndex } from '../../core/units';

/** Places behind one count, walked one by one. */
export interface OccurrencesState {
  readonly title: string;
  readonly recordingId: string;
  readonly places: readonly SampleIndex[];
  readonly at: number;
}

export type Occurrences = ReturnType<typeof createOccurrences>;

export function createOccurrences() {
  return createStore<OccurrencesState>(() => ({ title: '', recordingId: '', places: [], at: -1 }));
}

export type CountKind = 'missed' | 'wrong peak' | 'extra' | 'refined' | 'lost' | 'wrong intervals';

/** Where the mistakes behind a count are, in one stretch of the recording. */
export function placesOf(score: RecordingScore, kind: CountKind, start: number, end: number): SampleIndex[] {
  const inside = (sample: number) => sample >= start && sample < end;
  return collect(score, kind).filter(inside) as SampleIndex[];
}

function collect(score: RecordingScore, kind: CountKind): number[] {
  const { beats, marks, outcome, beatOfMark, markOfBeat } = score.matching;
  switch (kind) {
    case 'missed':
      return [...beats].filter((_, k) => outcome[k] === BeatOutcome.missed);
    case 'wrong peak':
      return [...beats].filter((_, k) => outcome[k] === BeatOutcome.wrongPeak);
    case 'refined':
      return [...beats].filter((b, k) => outcome[k] === BeatOutcome.onPeak && marks[markOfBeat[k]!] !== b);
    case 'extra':
      return [...marks].filter((_, j) => beatOfMark[j] === -1);
    case 'wrong intervals':
      return [...beats].filter((_, k) => (score.outcomes[k] ?? 0) > 1);
    case 'lost':
      return score.segments.flatMap(s => s.lostStretches.map(l => l.start as number));
  }
}
