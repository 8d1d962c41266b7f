import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { describe, expect, test, vi } from 'vitest';
import { LogParser, parseLog } from '../../../../src/formats/bundle/log-parser';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { LineStream } from '../../../../src/formats/bytes/lines';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readZipDirectory } from '../../../../src/formats/zip/directory';
import { unpackWhole } from '../../../../src/formats/zip/entries';
import { joinBytes, ZipWriter } from '../../../../src/formats/zip/writer';
import { randomFrom } from '../../../fuzz/mutate';
import { madeSession } from './reviewed';

const made = madeSession();
const block = 2 ** 20;
const random = randomFrom(7);

/** The good bundle with a log of so many MiB of one line, over and over, and a manifest that lists it. */
async function bundleWithLog(mib: number, line: string): Promise<Uint8Array> {
  const good = bytesSource('good.zip', writeBundle(made.reviewed, made.leads));
  const logs = made.reviewed.logs.map(l => l.header.rater);
  const zip = new ZipWriter(9);
  const piece = new TextEncoder().encode(line.repeat(block / line.length));
  let manifest: Record<string, unknown> | null = null;
  for (const entry of await readZipDirectory(good)) {
    const { bytes } = await unpackWhole(good, entry, 1e8);
    if (entry.path === 'manifest.json') manifest = JSON.parse(new TextDecoder().decode(bytes));
    else if (entry.path === `logs/${logs[0]}.jsonl`) {
      const file = zip.open(entry.path);
      for (let i = 0; i < mib; i++) file.push(piece);
      file.close();
    } else zip.add(entry.path, bytes);
  }
  // As large as the limit on what an archive may unpack to asks for.
  zip.add(
    'ballast.bin',
    Uint8Array.from({ length: mib * 5500 }, () => 256 * random()),
  );
  const files = Object.fromEntries(zip.checks);
  zip.add('manifest.json', new TextEncoder().encode(JSON.stringify({ ...manifest, files })));
  zip.end();
  return joinBytes(zip.take());
}

setFlagsFromString('--expose-gc');
/** Garbage is no memory held: it is collected first, so that the figure does not hang on when the collector last ran. */
const collectGarbage: () => void = runInNewContext('gc');

function bytesHeld(): number {
  collectGarbage();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

/** Bytes held at the most while the bundle's log is read line by line, beyond those before. */
async function opened(bytes: Uint8Array) {
  const before = bytesHeld();
  let most = 0;
  let pieces = 0;
  const push = LineStream.prototype.push;
  const watched = vi.spyOn(LineStream.prototype, 'push').mockImplementation(function (this: LineStream, piece) {
    push.call(this, piece);
    if (pieces++ % 128 === 0) most = Math.max(most, bytesHeld() - before);
  });
  const bundle = await readBundle(bytesSource('odd.zip', bytes));
  watched.mockRestore();
  return { bundle, most: Math.max(most, bytesHeld() - before), pieces };
}

describe('a log that is small packed and large unpacked', () => {
  // A list of 16 million lines would be 128 MB.
  test.each([
    ['line ends', 16, '\n'],
    ['lines of one letter', 16, 'a\n'],
    ['one line without end', 16, 'a'],
  ])('of %s costs no memory, and its log is reported as damaged', async (_what, mib, line) => {
    const bytes = await bundleWithLog(mib, line);
    expect(bytes.length).toBeLessThan(2 * block);
    const { bundle, most, pieces } = await opened(bytes);
    expect(bundle.damaged.map(d => d.why)).toEqual(['its first line is not JSON']);
    expect(bundle.reviewed.logs).toHaveLength(made.reviewed.logs.length - 1);
    expect(pieces).toBeGreaterThan(100);
    expect(most).toBeLessThan(100 * block);
  });
});

test('a log is the same whether it comes as text or as bytes cut anywhere, with empty lines between', () => {
  const text = '{"a":1}\n\n\r{"ä":2}\nlast';
  const bytes = new TextEncoder().encode(text);
  for (const size of [1, 2, 3, 1000]) {
    const lines: string[] = [];
    const stream = new LineStream(100, line => void lines.push(line));
    for (let at = 0; at < bytes.length; at += size) stream.push(bytes.subarray(at, at + size));
    expect(stream.finish()).toBe(true);
    expect(lines).toEqual(['{"a":1}', '\r{"ä":2}', 'last']);
  }
  const parser = new LogParser();
  parser.push(bytes);
  expect(parser.finish()).toEqual(parseLog(text));
});

test('a line that is too long ends the reading of it', () => {
  const lines: string[] = [];
  const stream = new LineStream(10, line => void lines.push(line));
  for (const part of ['short\n', '12345', '67890', '1', '\nafter\n']) stream.push(new TextEncoder().encode(part));
  expect(stream.finish()).toBe(false);
  expect(lines).toEqual(['short']);
});
