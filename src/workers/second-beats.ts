import { signalFingerprint } from '../core/recording/fingerprint';
import type { Recording } from '../core/recording/recording';
import { type SecondBeats, type SecondDetector, secondOfAll, signalAbsent } from '../core/report/second-detector';
import type { ReviewedSession } from '../core/review/session';
import { openSignalStore } from '../storage/signals';
import { type DetectInput, detect } from './stored-leads';
import type { JobControl } from './worker-client';

/** What was found before, by the recording and its signal: a report made again, or its files, need not look once more. */
let known = new Map<string, SecondBeats>();

/** The second detector over every stored signal; nothing else reaches it. What the sessions have no use for is forgotten. */
export async function secondOf(
  found: readonly ReviewedSession[],
  control: JobControl<{ readonly share: number }>,
): Promise<SecondDetector> {
  const { signal } = control;
  const sessions = found.map(s => s.session);
  const used = new Map<string, SecondBeats>();
  const beatsOf = async (session: string, recording: Recording, leads: readonly number[]) => {
    const stored = leads.map(lead => ({
      id: { session, recording: recording.id, lead },
      lead: recording.leads[lead]!,
    }));
    const store = await openSignalStore();
    for (const { id, lead } of stored) if (!(await store.holds(id, lead))) return signalAbsent;
    const key = await keyOf(recording, stored);
    const beats =
      known.get(key) ?? (await detect({ leads: stored, gaps: recording.gaps }, { signal, progress: ignore }));
    signal.throwIfAborted();
    if (key) for (const kept of [known, used]) kept.set(key, beats);
    return beats;
  };
  const second = await secondOfAll(sessions, beatsOf, done => control.progress({ share: done / sessions.length }));
  known = used;
  return second;
}

const ignore = () => undefined;

/**
 * The same only for the same signal under the same facts: a session may have been removed and another imported under its
 * id. The signal is known by its least and greatest words all along. '' where they are not stored, or say nothing.
 */
async function keyOf(recording: Recording, stored: DetectInput['leads']): Promise<string> {
  const store = await openSignalStore();
  const prints = stored.map(async ({ id, lead }) => {
    const words = (await store.pyramid(id))?.levels[0];
    return words ? signalFingerprint(lead, words) : null;
  });
  const all = await Promise.all(prints);
  return all.includes(null) || all.every(print => print === '')
    ? ''
    : JSON.stringify([stored.map(s => s.id), recording, all]);
}
