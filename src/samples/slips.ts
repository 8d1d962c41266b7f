import { lowerBound } from '../core/marks/markset';
import { covers } from '../core/marks/spans';
import { randomFrom } from '../core/random';
import type { Planted } from '../core/simulate/plant';
import type { Span } from '../core/units';
import { span } from '../core/units';
import type { TrainingDay, TrainingRecording } from './training-day';

/**
 * Where a second rater departs from the truth. Against a review that is the truth, `missed left` gives one beat only the
 * first rater has, `extra left` and `stray mark` one only the second has, `wrong peak left` one placed apart, and
 * `span wider` a longer unreadable span that takes in no beat.
 */
export interface Slip {
  readonly recording: string;
  readonly kind: 'missed left' | 'wrong peak left' | 'extra left' | 'stray mark' | 'span wider';
  readonly at: number;
  readonly planted?: Planted;
  readonly span?: Span;
}

/** Per recording: two of each planted kind left as they are, one stray mark, one span too wide. */
export function drawSlips(day: TrainingDay, seed: string): Slip[] {
  return day.recordings.flatMap(r => {
    const recording = r.session.recording.id;
    const random = randomFrom(`${seed}/${recording}/slips`);
    const choose = (kinds: readonly Planted['kind'][], kind: Slip['kind'], count: number): Slip[] => {
      const pool = r.truth.plant.planted.filter(p => kinds.includes(p.kind));
      const out: Slip[] = [];
      while (out.length < count && pool.length > 0) {
        const planted = pool.splice(random.integer(pool.length), 1)[0]!;
        out.push({ recording, kind, at: planted.beat ?? planted.mark!, planted });
      }
      return out;
    };
    return [
      ...choose(['missed'], 'missed left', 2),
      ...choose(['wrongPeak'], 'wrong peak left', 2),
      ...choose(['extra'], 'extra left', 2),
      ...strayMark(r, random.integer(r.truth.ecg.beats.length)),
      ...widerSpan(r),
    ].sort((a, b) => a.at - b.at);
  });
}

/** A mark on the T wave of the first quiet beat from beat `from` on: nothing planted or unreadable within three seconds. */
function strayMark(r: TrainingRecording, from: number): Slip[] {
  const { beats, tPeaks, samplingRateHz } = r.truth.ecg;
  const busy = [
    ...r.truth.plant.planted.map(p => p.beat ?? p.mark!),
    ...r.truth.unreadable.flatMap(s => [s.start, s.end]),
    ...r.session.recording.gaps.flatMap(s => [s.start, s.end]),
  ];
  const clearance = 0.1 * samplingRateHz;
  for (let i = 0; i < beats.length; i++) {
    const k = (from + i) % beats.length;
    const at = tPeaks[k]!;
    if (k + 1 >= beats.length || at - beats[k]! < clearance || beats[k + 1]! - at < clearance) continue;
    if (busy.some(b => Math.abs(b - at) < 3 * samplingRateHz) || covers(r.truth.unreadable, at)) continue;
    return [{ recording: r.session.recording.id, kind: 'stray mark', at }];
  }
  return [];
}

/** The first unreadable stretch whose end can move on without reaching the next beat. */
function widerSpan(r: TrainingRecording): Slip[] {
  const { beats, samplingRateHz } = r.truth.ecg;
  for (const s of r.truth.unreadable) {
    const next = beats[lowerBound(beats, s.end)] ?? s.end;
    const end = Math.floor(next - 0.12 * samplingRateHz);
    if (end > s.end + 0.05 * samplingRateHz)
      return [{ recording: r.session.recording.id, kind: 'span wider', at: s.start, span: span(s.start, end) }];
  }
  return [];
}
