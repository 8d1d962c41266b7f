import { chainExample } from '../core/known-answers/chain-example';
import { coreAnswers } from '../core/known-answers/core-answers';
import { type CheckFinding, checkAnswers, type KnownAnswer } from '../core/known-answers/known-answer';
import { simulatedMinute, simulatedSession } from '../core/known-answers/simulated-example';
import { append, canonicalJson, type EditLog, newLog } from '../core/marks/log';
import type { SampleArray } from '../core/recording/recording';
import { logHeader, type ReviewedSession } from '../core/review/session';
import { readBundle } from './bundle/reader';
import { writeBundle } from './bundle/writer';
import { memorySink } from './bytes/memory-sink';
import { bytesSource } from './bytes/source';
import { FormatError } from './format-error';

/** Recomputes every example with a known answer, where this code runs. */
export function selfCheck(): Promise<CheckFinding[]> {
  return checkAnswers([...coreAnswers, bundleAnswer()]);
}

/** A session written as a bundle and read back; then the same bytes with one of the signal's bits turned. */
function bundleAnswer(): KnownAnswer {
  return {
    topic: 'Bundle',
    example: 'one simulated minute, written and read back; then one bit turned',
    source: 'what was put in',
    expected: { session: 'the same', logs: 'the same', signal: 'the same', 'turned bit': 'refused' },
    within: 0,
    async find() {
      const ecg = simulatedMinute();
      const session = simulatedSession(ecg);
      const reviewed = { session, logs: [logOf(session)] };
      const words = ecg.leads[0]!;
      const bytes = writeBundle(reviewed, () => words, { level: 0 });
      const read = await readBack(bytes);
      const same = (a: unknown, b: unknown) => (canonicalJson(a) === canonicalJson(b) ? 'the same' : 'different');
      return {
        session: same(read.reviewed.session, session),
        logs: same(read.reviewed.logs, reviewed.logs),
        signal: same([...read.words], [...words]),
        'turned bit': await refuses(withTurnedBit(bytes, words)),
      };
    },
  };
}

/** The entries of the chain example by a rater of this session. */
function logOf(session: ReviewedSession['session']): EditLog {
  return chainExample().entries.reduce<EditLog>(
    (log, { version: _version, seq: _seq, previous: _previous, hash: _hash, ...draft }) => append(log, draft).log,
    newLog(logHeader(session, 'R1')),
  );
}

async function readBack(bytes: Uint8Array): Promise<{ reviewed: ReviewedSession; words: SampleArray }> {
  const { reviewed, readRecording } = await readBundle(bytesSource('example.zip', bytes));
  const sink = memorySink();
  await readRecording(reviewed.session.recordings[0]!.recording.id, sink);
  return { reviewed, words: sink.lead(0) };
}

/** Words are stored unpacked at level 0, so the signal's own bytes are found as they are. */
function withTurnedBit(bytes: Uint8Array, words: Int16Array): Uint8Array {
  const first = new Uint8Array(words.buffer, words.byteOffset, 64);
  const at = bytes.findIndex((_, i) => first.every((b, j) => bytes[i + j] === b));
  const turned = bytes.slice();
  turned[at + 1000] = turned[at + 1000]! ^ 1;
  return turned;
}

async function refuses(bytes: Uint8Array): Promise<string> {
  try {
    await readBack(bytes);
    return 'not noticed';
  } catch (error) {
    if (error instanceof FormatError) return 'refused';
    throw error;
  }
}
