import { append, type Draft, type EditLog, newLog } from '../marks/log';
import { sampleIndex, span } from '../units';

/** source: FIPS 180-4, SHA-256 of the three bytes 'abc' (the standard's first example). */
export const sha256OfAbc = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

/** Hashes of the first and the last entry. source: hashlib and json of Python 3 (tests/reference/chain/chain.py). */
export const chainAnswers = {
  first: '5a5565437818b74d99c1b43af4a47ffb36bfec2993edb11b0ab80afd594f4c6d',
  last: '9fa4b2aea818bc23ce18b58a322c11fa12f9c78b3bbaf2e92948842ce1fc3adf',
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
