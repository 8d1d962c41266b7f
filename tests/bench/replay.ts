import type { Change } from '../../src/core/marks/edit';
import type { EditLog, Intent, LogEntry } from '../../src/core/marks/log';
import { replay } from '../../src/core/marks/log';
import { marksFrom } from '../../src/core/marks/markset';
import type { SampleIndex } from '../../src/core/units';
import type { Bench } from './measure';
import { mediansInTurn } from './measure';

const lengths = [1000, 10_000, 50_000, 100_000] as const;
const stepSamples = 800;
const markCount = 110_000;
const detected = new Map([['band', marksFrom(Array.from({ length: markCount }, (_, i) => i * stepSamples + 100))]]);

type Made = readonly [Intent, Change];
const at = (n: number) => n as SampleIndex;

/** Entry `i` of a long review: a mark is moved, centred mark by mark, set aside, looked at; now and then all is undone. */
function made(i: number): Made {
  const mark = i * stepSamples + 100;
  const span = { start: at(mark), end: at(mark + 1) };
  switch (i % 4) {
    case 0:
      return ['move', [{ op: 'marks', removed: [at(mark)], added: [at(mark + 5)] }]];
    case 1:
      return ['accept', [{ op: 'accepted', removed: [], added: [span] }]];
    case 2:
      return ['dismiss', [{ op: 'dismissal', before: null, after: { reason: 'long interval', at: at(mark) } }]];
    default:
      return ['look', [{ op: 'seen', removed: [], added: [span] }]];
  }
}

function longLog(length: number, entryOf: (i: number) => Made): EditLog {
  const entries = Array.from({ length }, (_, seq): LogEntry => {
    const [intent, change] = entryOf(seq);
    return { seq, at: '2026-02-14T10:00:00.000Z', recording: 'band', intent, change, previous: '', hash: '' };
  });
  return { header: { session: 'long', rater: 'R1', detected: {}, role: 'rater' }, entries };
}

const kinds = [
  ['edits of every kind', made],
  ['entries without a change', () => ['dismiss', []] as Made],
] as const;

export const replayBench: Bench = {
  name: 'replay',
  says: 'replaying a log on 110,000 marks; the cost of one entry against that in a log of 1,000',
  async run() {
    return kinds.flatMap(([kind, entryOf]) => {
      const logs = lengths.map(n => longLog(n, entryOf));
      // Short logs as often as they go into the longest, so that all are measured over equally many entries.
      const times = mediansInTurn(
        7,
        logs.map(log => () => {
          for (let i = 0; i < lengths.at(-1)! / log.entries.length; i++) replay(log, detected);
        }),
        2,
      );
      const ratio = (i: number) => times[i]! / times[0]!;
      return [
        ...lengths.slice(1).map((n, i) => {
          return { of: `${n.toLocaleString('en')}, ${kind}`, value: ratio(i + 1), unit: 'x' as const, limit: 1.5 };
        }),
        { of: `100,000, ${kind}`, value: times[3]!, unit: 'ms' as const, limit: 1000 },
      ];
    });
  },
};
