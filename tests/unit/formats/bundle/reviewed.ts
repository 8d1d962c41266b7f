import type { Change } from '../../../../src/core/marks/edit';
import { append, type EditLog, type Intent, newLog } from '../../../../src/core/marks/log';
import { type Marks, marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { Lead, SampleArray } from '../../../../src/core/recording/recording';
import {
  logHeader,
  type ReviewedSession,
  type Session,
  type SessionRecording,
} from '../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../src/core/units';

/** An invented session: two recorders of one volunteer, three leads of different formats, logs of as many raters as asked. */
export interface Made {
  readonly reviewed: ReviewedSession;
  readonly leads: (recordingId: string, leadIndex: number) => SampleArray;
}

const lead = (name: string, words: SampleArray, samplingRateHz: number): Lead => ({
  name,
  samplingRateHz,
  sampleCount: words.length,
  format: words instanceof Int16Array ? 'int16' : words instanceof Int32Array ? 'int32' : 'float32',
  mvPerUnit: 0.005,
  offset: -3,
  fileUnit: 'mV',
});

function wave<T extends SampleArray>(words: T, phase: number): T {
  for (let i = 0; i < words.length; i++) words[i] = Math.round(1000 * Math.sin(i / 7 + phase) + ((i * 7919) % 31));
  return words;
}

export function madeSession(
  raters: readonly string[] = ['R1', 'R2'],
  lengthSeconds = 60,
  id = 'V01-training-day',
): Made {
  const count = 100 * lengthSeconds;
  const words: Record<string, SampleArray[]> = {
    'chest-band': [wave(new Int16Array(count), 0)],
    'adhesive-logger': [
      wave(new Int16Array(2 * count), 1),
      wave(new Int32Array(2 * count), 2),
      wave(new Float32Array(count), 3),
    ],
  };
  const marks = marksFrom(Array.from({ length: lengthSeconds }, (_, i) => 50 + 100 * i));
  const session: Session = {
    id,
    title: 'V01, training day ♥',
    participant: 'V01',
    settings: defaultMatchSettings,
    recordings: [
      recordingOf('chest-band', 100, count, words['chest-band']!, ['lead I'], marks),
      recordingOf(
        'adhesive-logger',
        200,
        2 * count,
        words['adhesive-logger']!,
        ['A', 'A', 'Ü/..\\x'],
        marks.map(m => 2 * m),
      ),
    ],
  };
  const logs = raters.map((rater, i) => madeLog(session, rater, i));
  return { reviewed: { session, logs }, leads: (id, i) => words[id]![i]! };
}

function recordingOf(
  id: string,
  rateHz: number,
  count: number,
  words: SampleArray[],
  names: string[],
  detected: Marks,
): SessionRecording {
  return {
    recording: {
      id,
      recorder: id.replace('-', ' '),
      samplingRateHz: rateHz,
      sampleCount: count,
      startedAt: '2026-09-12T09:00:03.250',
      leads: words.map((w, i) => lead(names[i]!, w, (rateHz * w.length) / count)),
      gaps: [span(0, 20), span(count - 30, count)],
      source: 'made for this test',
    },
    detected,
    detectedBy: `${id}, its own marks`,
    segments: [
      { name: 'seated radio watch', ...span(0, count / 2) },
      { name: 'uphill run', ...span(count / 2, count) },
    ],
  };
}

/** Each rater moves, deletes and inserts other marks, so that their logs have no entry in common. */
function madeLog(session: Session, rater: string, i: number): EditLog {
  const acts: [string, Intent, Change][] = [
    ['chest-band', 'delete', [{ op: 'marks', removed: [sampleIndex(350 + 100 * i)], added: [] }]],
    ['chest-band', 'insert', [{ op: 'marks', removed: [], added: [sampleIndex(2010 + i)] }]],
    ['adhesive-logger', 'move', [{ op: 'marks', removed: [sampleIndex(1100)], added: [sampleIndex(1101 + i)] }]],
    ['adhesive-logger', 'unreadable', [{ op: 'unreadable', removed: [], added: [span(4000 + i, 4600)] }]],
    ['chest-band', 'comment', [{ op: 'note', before: null, after: commentOf(rater) }]],
    ['', 'finish', []],
  ];
  return acts.reduce<EditLog>(
    (log, [recording, intent, change], n) =>
      append(log, { at: `2026-09-13T08:0${n}:00.000Z`, recording, intent, change }).log,
    newLog(logHeader(session, rater)),
  );
}

const commentOf = (rater: string) =>
  ({ id: 'n1', kind: 'comment', start: sampleIndex(10), end: sampleIndex(20), text: `remark of ${rater}` }) as const;
