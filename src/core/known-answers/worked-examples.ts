import { marksFrom } from '../marks/markset';
import { defaultMatchSettings } from '../marks/match';
import { type RecordingScore, scoreRecording } from '../score/score';
import { span, toSample } from '../units';

/** Worked examples of the quality definition: beats at 0.5, 1.5, ... 10.5 s, one segment [0, 11) s, default settings. */
export const beatsSeconds: readonly number[] = Array.from({ length: 11 }, (_, i) => i + 0.5);

export interface WorkedExample {
  readonly title: string;
  readonly marksSeconds: readonly number[];
  readonly unreadableSeconds?: readonly (readonly [number, number])[];
  readonly missed: number;
  readonly wrongPeak: number;
  readonly extra: number;
  readonly judged: number;
  readonly lost: number;
  readonly right: number;
  readonly qualityPercent: number;
  readonly readableQualityPercent?: number;
}

const without = (...times: number[]) => beatsSeconds.filter(t => !times.includes(t));
const none = { missed: 0, wrongPeak: 0, extra: 0, judged: 10, lost: 0 };

/** source: by hand from the definition, counting intervals. */
export const workedExamples: readonly WorkedExample[] = [
  { title: 'the same 11', marksSeconds: beatsSeconds, ...none, right: 10, qualityPercent: 100 },
  { title: 'without 5.5', marksSeconds: without(5.5), ...none, missed: 1, right: 8, qualityPercent: 80 },
  { title: 'without 5.5 and 6.5', marksSeconds: without(5.5, 6.5), ...none, missed: 2, right: 7, qualityPercent: 70 },
  { title: 'without 0.5', marksSeconds: without(0.5), ...none, missed: 1, right: 9, qualityPercent: 90 },
  {
    title: '5.5 replaced by 5.8',
    marksSeconds: [...without(5.5), 5.8],
    ...none,
    wrongPeak: 1,
    right: 8,
    qualityPercent: 80,
  },
  { title: 'one more at 5.9', marksSeconds: [...beatsSeconds, 5.9], ...none, extra: 1, right: 9, qualityPercent: 90 },
  { title: 'all 30 ms late', marksSeconds: beatsSeconds.map(t => t + 0.03), ...none, right: 10, qualityPercent: 100 },
  {
    title: '[3.2, 6.8) unreadable',
    marksSeconds: beatsSeconds,
    unreadableSeconds: [[3.2, 6.8]],
    ...none,
    judged: 5,
    lost: 5,
    right: 5,
    qualityPercent: 50,
    readableQualityPercent: 100,
  },
];

export function scoreExample(example: WorkedExample, samplingRateHz: number): RecordingScore {
  const marksAt = (times: readonly number[]) => marksFrom(times.map(t => toSample(t, samplingRateHz)));
  return scoreRecording({
    beats: marksAt(beatsSeconds),
    marks: marksAt(example.marksSeconds),
    unreadable: (example.unreadableSeconds ?? []).map(([a, b]) =>
      span(toSample(a, samplingRateHz), toSample(b, samplingRateHz)),
    ),
    gaps: [],
    segments: [{ name: 'whole', ...span(0, 11 * samplingRateHz) }],
    samplingRateHz,
    settings: defaultMatchSettings,
  });
}
