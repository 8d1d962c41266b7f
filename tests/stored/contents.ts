import { createHash } from 'node:crypto';
import { asWritten, canonicalJson } from '../../src/core/marks/log';
import { readBundle } from '../../src/formats/bundle/reader';
import { readStudy } from '../../src/formats/bundle/study';
import { memorySink } from '../../src/formats/bytes/memory-sink';
import type { ByteSource } from '../../src/formats/bytes/source';

/** Everything in a session bundle as plain JSON: session, reviews, warnings, and the SHA-256 of each lead's words. */
export async function bundleContents(source: ByteSource): Promise<unknown> {
  const { reviewed, readRecording, warnings } = await readBundle(source);
  const signals: Record<string, string[]> = {};
  for (const { recording } of reviewed.session.recordings) {
    const sink = memorySink();
    await readRecording(recording.id, sink);
    signals[recording.id] = recording.leads.map((_, i) => {
      const { buffer, byteOffset, byteLength } = sink.lead(i);
      return createHash('sha256')
        .update(new Uint8Array(buffer, byteOffset, byteLength))
        .digest('hex');
    });
  }
  const logs = reviewed.logs.map(({ header, entries }) => ({ header, entries: entries.map(asWritten) }));
  return JSON.parse(canonicalJson({ reviewed: { ...reviewed, logs }, signals, warnings }));
}

/** Everything in a study bundle as plain JSON, its sessions with all that is in them. */
export async function studyContents(source: ByteSource): Promise<unknown> {
  const { study, clocks, sessions, warnings } = await readStudy(source);
  const inside: unknown[] = [];
  for (const s of sessions) {
    inside.push({ id: s.id, unchanged: await s.isUnchanged(), contents: await bundleContents(s.source) });
  }
  return JSON.parse(canonicalJson({ study, clocks, sessions: inside, warnings }));
}
