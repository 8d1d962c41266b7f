import type { Change } from '../../../../src/core/marks/edit';
import { append, type Draft, type EditLog, lastHash, newLog } from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { Lead } from '../../../../src/core/recording/recording';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../src/core/units';

/** Stands in everything that a person can type or a file can bring; a number behind it tells which. */
let planted = 0;
const nth = (n: number) => `Qzx${String(n).padStart(3, '0')}`;
export const marker = () => nth(planted++);
export const markersMade = () => planted;
/** All that were made after so many. */
export const markersAfter = (n: number) => Array.from({ length: planted - n }, (_, i) => nth(n + i));
/** Days and times of day of the recording and of the reviews, in every way they are written. */
export const times = [
  '2019-08-07',
  '7-AUG',
  '07.08.19',
  '07:31:47',
  '07.31.47',
  '2023-05-06',
  '2023-05-07',
  '16:17:18',
];
/** Of the file that was read. */
export const fileSha256 = 'ab'.repeat(32);

export const count = 2000;
const lead = (): Lead => ({
  name: marker(),
  samplingRateHz: 250,
  sampleCount: count,
  format: 'int16',
  mvPerUnit: 0.005,
  offset: 0,
  fileUnit: marker(),
});
export const words = Int16Array.from({ length: count }, (_, i) =>
  i % 200 < 6 ? 900 : Math.round(30 * Math.sin(i / 9)),
);
export const detected = marksFrom([3, 203, 403, 603, 803, 1003]);
export const end = (log: EditLog) => ({ rater: log.header.rater, entries: log.entries.length, hash: lastHash(log) });

/** A session of two recordings with three logs, a marker in each of its texts. */
export function markedSession() {
  const segments = [
    { name: marker(), ...span(0, 900) },
    { name: marker(), ...span(900, count) },
  ];

  function item(id: string) {
    return {
      recording: {
        id,
        recorder: marker(),
        samplingRateHz: 250,
        sampleCount: count,
        startedAt: '2019-08-07T07:31:47',
        utcOffsetMinutes: 345,
        leads: [lead(), lead()],
        ecgLead: 1,
        gaps: [],
        source: `${marker()}.edf (EDF+)`,
        origin: {
          format: 'EDF+',
          fileSha256,
          signalSha256: '',
          doubts: [marker()],
          leftOut: [marker()],
        },
      },
      detected,
      detectedBy: `${marker()}.csv`,
      segments,
    };
  }

  const plan = {
    segment: segments[1]!.name,
    seed: 7,
    stretchSeconds: 2,
    contextSeconds: 1,
    shares: [0.5],
    weights: [1, 1],
    halfWidth: null,
    classes: [0, 1],
    bounds: [3, 3],
  };
  const ids = [marker(), marker()];
  const session: Session = {
    id: marker(),
    title: marker(),
    participant: marker(),
    settings: defaultMatchSettings,
    recordings: ids.map(item),
    samples: [{ recording: ids[0]!, plan, drawn: null }],
  };
  const raters = [marker(), marker(), marker()] as const;

  function logOf(rater: string, role: 'rater' | 'adjudicator', drafts: readonly Partial<Draft>[]): EditLog {
    const at = '2023-05-06T16:17:18.000Z';
    return drafts.reduce<EditLog>(
      (log, draft) => append(log, { at, recording: ids[0]!, intent: 'comment', change: [], ...draft }).log,
      newLog(logHeader(session, rater, role)),
    );
  }

  const note = (kind: 'comment' | 'flag' | 'evidence') => {
    const place = { start: sampleIndex(403), end: sampleIndex(403) };
    return { id: `n-${kind}`, kind, ...place, text: marker(), ...(kind === 'evidence' ? { recorder: marker() } : {}) };
  };
  const noted = (kind: 'comment' | 'flag' | 'evidence'): Change => [{ op: 'note', before: null, after: note(kind) }];

  const first = logOf(raters[0], 'rater', [
    { intent: 'delete', change: [{ op: 'marks', removed: [sampleIndex(203)], added: [] }] },
    { intent: 'comment', change: noted('comment') },
    { intent: 'flag', change: noted('flag') },
    { intent: 'evidence', change: noted('evidence'), at: '2023-05-07T16:17:18.000Z' },
    {
      intent: 'sign off',
      change: [
        {
          op: 'signOff',
          before: null,
          after: { segment: segments[0]!.name, at: '2023-05-06T16:17:18.000Z', reason: marker() },
        },
      ],
    },
    { intent: 'plan', recording: ids[0]!, change: [{ op: 'samplePlan', before: null, after: plan }] },
    { intent: 'unblind', recording: '', fact: { kind: 'unblinded', by: 'report', raters: [raters[1], marker()] } },
    { intent: 'reassign', recording: '', fact: { kind: 'reassigned', from: marker(), to: raters[0] } },
    { intent: 'finish', recording: '', reason: marker() },
  ]);
  const second = logOf(raters[1], 'rater', [{ intent: 'finish', recording: '' }]);
  const settled = logOf(raters[2], 'adjudicator', [
    { intent: 'settle', recording: '', fact: { kind: 'settledLogs', a: end(first), b: end(second) } },
    { intent: 'finish', recording: '' },
  ]);
  return { session, ids, segments, note, raters, logs: [first, second, settled] as const };
}
