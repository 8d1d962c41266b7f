import { utf8ToBytes } from '@noble/hashes/utils.js';
import { between, type Marks } from '../core/marks/markset';
import type { Recording, Segment } from '../core/recording/recording';
import { span, toSample } from '../core/units';
import { arraySamples } from '../formats/bytes/memory-sink';
import { toAnnotations } from '../formats/edf/annotations';
import { edfBytes } from '../formats/edf/writer';
import type { TrainingDay, TrainingRecording } from './training-day';

/** A minute of one recording, on a clock of its own. */
interface Cut {
  readonly recording: Recording;
  readonly leads: readonly Int16Array[];
  readonly marks: Marks;
  readonly segments: readonly Segment[];
}

/** Short plain files to try the imports with, cut where the hike ends and the run begins. */
export async function plainFiles(day: TrainingDay): Promise<[name: string, bytes: Uint8Array][]> {
  const [chest, logger] = day.recordings.map(cutMinute) as [Cut, Cut];
  const rate = chest.recording.samplingRateHz;
  const lead = chest.leads[0]!;
  const mv = (word: number) => (word * chest.recording.leads[0]!.mvPerUnit).toFixed(3);
  const signal = Array.from(lead, (word, i) => `${(i / rate).toFixed(6)},${mv(word)}`);
  const seconds = (sample: number) => (sample / rate).toFixed(3);
  const intervals = Array.from(chest.marks.subarray(1), (m, i) => Math.round(((m - chest.marks[i]!) * 1000) / rate));
  const segments = chest.segments.map(s => `${s.name},${seconds(s.start)},${seconds(s.end)}`);
  return [
    ['logger-minute.edf', await edfOf(logger, day.session.participant)],
    ['chest-minute.csv', lines(['time_s,chest_mV', ...signal])],
    ['chest-minute-marks.csv', lines(['sample', ...Array.from(chest.marks, String)])],
    [
      'chest-minute-rr.txt',
      lines([`# first mark at ${seconds(chest.marks[0]!)} s`, 'rr_ms', ...intervals.map(String)]),
    ],
    ['chest-minute-segments.csv', lines(['name,start,end', ...segments])],
  ];
}

function lines(rows: readonly string[]): Uint8Array {
  return utf8ToBytes(`${rows.join('\n')}\n`);
}

/** 25 s of the third activity, the way to the fourth, and its first 15 s: 60 s in all. */
function cutMinute({ session, leads }: TrainingRecording): Cut {
  const rate = session.recording.samplingRateHz;
  const start = session.segments[2]!.end - 25 * rate;
  const end = start + 60 * rate;
  const sampleCount = end - start;
  const clip = (at: number) => Math.min(Math.max(at - start, 0), sampleCount);
  return {
    recording: {
      ...session.recording,
      sampleCount,
      leads: session.recording.leads.map(l => ({ ...l, sampleCount })),
      startedAt: '2026-09-12T09:15:35',
      gaps: [],
    },
    leads: leads.map(l => l.slice(start, end)),
    marks: between(session.detected, start, end).map(m => m - start),
    segments: session.segments
      .map(s => ({ name: s.name, ...span(clip(s.start), clip(s.end)) }))
      .filter(s => s.end - s.start > toSample(1, rate)),
  };
}

function edfOf(cut: Cut, participant: string): Promise<Uint8Array> {
  const { recording, marks, segments } = cut;
  const annotations = toAnnotations(marks, segments, recording.samplingRateHz);
  return edfBytes({ recording, leads: cut.leads.map(arraySamples), annotations, participant });
}
