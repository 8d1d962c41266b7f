import { append, type Draft, type EditLog, newLog } from '../marks/log';
import { sampleIndex, span } from '../units';

/** source: FIPS 180-4, SHA-256 of the three bytes 'abc' (the standard's first example). */
export const sha256OfAbc = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

/** Hashes of the first and the last entry. source: hashlib and json of Python 3 (tests/reference/chain/chain.py). */
export const chainAnswers = {
  first: '44179ccf3dce530f45a19512bdcad8e288b1368354b10d26d9c2dd3481293139',
  last: '5331736271e24aac423a3cb9ed4b4f4e8d6d3c4e97b4e007765de8acc4d859fe',
} as const;

const drafts: readonly Draft[] = [
  draft(0, 'insert', [{ op: 'marks', removed: [], added: [sampleIndex(1104)] }]),
  draft(1, 'unreadable', [{ op: 'unreadable', removed: [], added: [span(4000, 4600)] }]),
  draft(2, 'look', []),
];

function draft(minute: number, intent: Draft['intent'], change: Draft['change']): Draft {
  return { at: `2026-09-13T08:0${minute}:00.000Z`, recording: 'chest-band', intent, change };
}

/** A short log whose hashes were also computed by other software. */
export function chainExample(): EditLog {
  const header = {
    session: 'V01-example',
    rater: 'R1',
    detected: { 'chest-band': sha256OfAbc },
    role: 'rater',
  } as const;
  return drafts.reduce((log, d) => append(log, d).log, newLog(header));
}
