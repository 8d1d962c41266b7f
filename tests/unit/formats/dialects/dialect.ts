import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { inflated } from '../../../../src/formats/open';
import { previewText, type TextAsked } from '../../../../src/formats/text/layout';
import { previewMarks, readMarks } from '../../../../src/formats/text/marks';
import { previewSegments, readSegments } from '../../../../src/formats/text/segments';
import { readTextSignal } from '../../../../src/formats/text/signal';
import type { ListClock } from '../../../../src/formats/text/wall-clock';

/** One way of writing a table, what it means, and what a person is asked about it. */
export interface Dialect {
  readonly name: string;
  readonly file: string | Uint8Array;
  /** Words that the sentences of doubt must hold; empty when nothing may be doubtful. */
  readonly asked: readonly RegExp[];
}

export interface SignalDialect extends Dialect {
  readonly rateHz: number;
  /** First values of each lead in mV. */
  readonly mv: readonly (readonly number[])[];
  readonly samples: number;
  readonly startedAt?: string | null;
  readonly gaps?: readonly (readonly [number, number])[];
  /** Given by the person where the file does not say it. */
  readonly rate?: number;
  readonly settle?: TextAsked;
}

export interface ListDialect extends Dialect {
  /** Samples of the marks, or start and end of each segment. */
  readonly samples: readonly number[];
  readonly clock?: ListClock;
}

export const clock: ListClock = { samplingRateHz: 250, sampleCount: 15_000, startedAt: '2026-03-14T08:30:00' };

const bytesOf = (file: string | Uint8Array) => (typeof file === 'string' ? new TextEncoder().encode(file) : file);

/** What came of reading: a line for the table, and all that was doubtful. */
export interface Outcome {
  readonly understood: string;
  readonly doubts: readonly string[];
}

export async function readSignalDialect(d: SignalDialect) {
  const source = await inflated(bytesSource('table.csv', bytesOf(d.file)));
  const layout = await previewText(source, d.settle);
  const sink = memorySink();
  const samplingRateHz = d.rate ?? layout.samplingRateHz;
  const opened = await readTextSignal(source, { ...layout, samplingRateHz }, sink);
  const { recording } = opened;
  const mv = recording.leads.map((l, i) =>
    Array.from(
      sink.lead(i).subarray(0, d.mv[i]?.length ?? 0),
      w => Math.round((w - l.offset) * l.mvPerUnit * 1e6) / 1e6 + 0,
    ),
  );
  const doubts = [...layout.doubts, ...opened.warnings, ...opened.dropped];
  const parts = [
    `${recording.leads.map(l => `${l.name} in ${l.fileUnit}`).join(', ')}`,
    `${recording.samplingRateHz} Hz${d.rate === undefined ? '' : ' as given'}`,
    ...(recording.startedAt === null ? [] : [recording.startedAt]),
    ...(recording.gaps.length === 0 ? [] : [`${recording.gaps.length} gap`]),
  ];
  return { recording, mv, outcome: { understood: parts.join('; '), doubts } satisfies Outcome };
}

export async function readMarksDialect(d: ListDialect) {
  const source = await inflated(bytesSource('marks.csv', bytesOf(d.file)));
  const layout = await previewMarks(source, d.clock ?? clock);
  const { marks, understood, warnings, dropped } = await readMarks(source, layout, d.clock ?? clock);
  const outcome: Outcome = {
    understood: understood[0]!.replace(/: .*/, ''),
    doubts: [...layout.doubts, ...warnings, ...dropped],
  };
  return { samples: [...marks], outcome };
}

export async function readSegmentsDialect(d: ListDialect) {
  const source = await inflated(bytesSource('segments.csv', bytesOf(d.file)));
  const layout = await previewSegments(source);
  const { segments, understood, warnings, dropped } = await readSegments(source, layout, d.clock ?? clock);
  const outcome: Outcome = {
    understood: understood[0]!.replace(/: .*/, ''),
    doubts: [...layout.doubts, ...warnings, ...dropped],
  };
  return { samples: segments.flatMap(s => [s.start, s.end]), outcome };
}
