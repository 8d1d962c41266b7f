import { append, type EditLog, newLog } from '../../../src/core/marks/log';

export const emptyLog = (rater = 'R1', session = 'V01-am'): EditLog =>
  newLog({ session, rater, detected: { 'chest-band': 'a'.repeat(64) }, role: 'rater' });

/** The log with so many entries more; `hand` tells two machines apart. */
export function grownBy(log: EditLog, count: number, hand = 'first machine'): EditLog {
  let grown = log;
  for (let i = 0; i < count; i++) {
    const at = `2026-02-14T09:00:${String(i % 60).padStart(2, '0')}Z`;
    grown = append(grown, {
      at,
      recording: 'chest-band',
      intent: 'comment',
      change: [],
      reason: `${hand}, ${i}, ♥`,
    }).log;
  }
  return grown;
}

export const hashesOf = (log: EditLog) => log.entries.map(e => e.hash);
