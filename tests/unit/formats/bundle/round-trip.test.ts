import { unzipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import type { SampleArray } from '../../../../src/core/recording/recording';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { bundleBlocks, writeBundle } from '../../../../src/formats/bundle/writer';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { joinBytes } from '../../../../src/formats/zip/writer';
import { type Made, madeSession } from './reviewed';

const open = (bytes: Uint8Array) => readBundle(bytesSource('session.zip', bytes));

async function leadsOf(bytes: Uint8Array): Promise<Made['leads']> {
  const opened = await open(bytes);
  const sinks = new Map<string, ReturnType<typeof memorySink>>();
  for (const { recording } of opened.reviewed.session.recordings) {
    const sink = memorySink();
    await opened.readRecording(recording.id, sink);
    sinks.set(recording.id, sink);
  }
  return (id, i) => sinks.get(id)!.lead(i);
}

describe('a session bundle', () => {
  test('gives back the same session, logs and words', async () => {
    const made = madeSession();
    const bytes = writeBundle(made.reviewed, made.leads);
    const opened = await open(bytes);
    expect(opened.reviewed).toEqual(made.reviewed);
    expect(opened.damaged).toEqual([]);
    expect(opened.warnings).toEqual([]);
    const leads = await leadsOf(bytes);
    for (const { recording } of made.reviewed.session.recordings) {
      for (const i of recording.leads.keys()) expect(leads(recording.id, i)).toEqual(made.leads(recording.id, i));
    }
  });

  test.each([0, 6] as const)('is the same bytes after write, read, write (level %i)', async level => {
    const made = madeSession(['R2', 'R1', 'supervisor / Ö'], 400);
    const bytes = writeBundle(made.reviewed, made.leads, { level });
    const again = writeBundle((await open(bytes)).reviewed, await leadsOf(bytes), { level });
    expect(Buffer.compare(again, bytes)).toBe(0);
  });

  test('is the same bytes when streamed in blocks of any size', async () => {
    const made = madeSession(['R1'], 700);
    const whole = writeBundle(made.reviewed, made.leads);
    function* cut(words: SampleArray) {
      for (let at = 0, n = 1; at < words.length; at += n, n = ((n * 37) % 9973) + 1) yield words.subarray(at, at + n);
    }
    const parts: Uint8Array[] = [];
    for await (const block of bundleBlocks(made.reviewed, (id, i) => cut(made.leads(id, i)))) parts.push(block.slice());
    expect(Buffer.compare(joinBytes(parts), whole)).toBe(0);
    const others: Uint8Array[] = [];
    const samples = bundleBlocks(made.reviewed, (id, i) => arraySamples(made.leads(id, i)));
    for await (const block of samples) others.push(block.slice());
    expect(Buffer.compare(joinBytes(others), whole)).toBe(0);
  });

  test('is a zip that another reader unpacks, sorted, with stored words as they are', () => {
    // source: fflate 0.8, unzipSync, a reader of its own
    const made = madeSession();
    const entries = unzipSync(writeBundle(made.reviewed, made.leads));
    expect(Object.keys(entries)).toEqual([
      'logs/R1.jsonl',
      'logs/R2.jsonl',
      'recordings/adhesive-logger/1-A.i16',
      'recordings/adhesive-logger/2-A.i32',
      'recordings/adhesive-logger/3-x.f32',
      'recordings/adhesive-logger/detected.csv',
      'recordings/chest-band/1-lead-I.i16',
      'recordings/chest-band/detected.csv',
      'manifest.json',
    ]);
    const words = made.leads('chest-band', 0);
    expect(Buffer.from(entries['recordings/chest-band/1-lead-I.i16']!).readInt16LE(2 * 123)).toBe(words[123]);
    expect(new TextDecoder().decode(entries['recordings/chest-band/detected.csv']!.subarray(0, 14))).toBe(
      'sample\n50\n150\n',
    );
  });

  test('refuses what it could not give back', () => {
    const made = madeSession();
    const { session, logs } = made.reviewed;
    const withId = (id: string) => ({ logs, session: { ...session, id } });
    expect(() => writeBundle(withId('../up'), made.leads)).toThrow(RangeError);
    expect(() => writeBundle(made.reviewed, () => new Int16Array(3))).toThrow(/3 words, not 12000/);
    expect(() => writeBundle(made.reviewed, made.leads, { raters: ['R9'] })).toThrow('no log of rater R9');
    const twice = { session: { ...session, recordings: [session.recordings[0]!, session.recordings[0]!] }, logs: [] };
    expect(() => writeBundle(twice, made.leads)).toThrow('same id');
  });
});
