import fc from 'fast-check';
import { unzipSync, type Zippable, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { append, canonicalJson, type EditLog, sha256Hex } from '../../../../src/core/marks/log';
import { checkBundle } from '../../../../src/formats/bundle/check';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { readZipDirectory, zipLimits } from '../../../../src/formats/zip/directory';
import { madeSession } from './reviewed';

const made = madeSession();
const good = writeBundle(made.reviewed, made.leads, { level: 0 });
const source = (bytes: Uint8Array) => bytesSource('odd.zip', bytes);
const open = (bytes: Uint8Array) => readBundle(source(bytes));
const encode = (text: string) => new TextEncoder().encode(text);
const decode = (bytes: Uint8Array) => new TextDecoder().decode(bytes);

/** The good bundle with its entries changed; the manifest's sizes and checksums follow unless told otherwise. */
function altered(change: (files: Record<string, Uint8Array>) => void, keepSums = false): Uint8Array {
  const files: Record<string, Uint8Array> = { ...unzipSync(good) };
  change(files);
  if (!keepSums) {
    const manifest = JSON.parse(decode(files['manifest.json']!));
    for (const path of Object.keys(manifest.files)) {
      const bytes = files[path];
      if (bytes) manifest.files[path] = { bytes: bytes.length, sha256: sha256Hex(bytes) };
    }
    files['manifest.json'] = encode(JSON.stringify(manifest));
  }
  return zipSync(files as Zippable);
}

const manifestWith = (change: (manifest: Record<string, unknown>) => void) =>
  altered(files => {
    const manifest = JSON.parse(decode(files['manifest.json']!));
    change(manifest);
    files['manifest.json'] = encode(JSON.stringify(manifest));
  });

describe('hostile or damaged archives are refused with a FormatError', () => {
  // source: PKWARE APPNOTE 6.3; attacks as commonly known ("zip slip", "zip bomb", overlapping entries), common practice
  test.each(['../up.csv', '/root.csv', 'a/../../b', 'c:\\x', 'a\\b', './a', 'a//b', 'nul\u0000l'])(
    'path %j',
    async path => {
      await expect(open(zipSync({ [path]: encode('x') }))).rejects.toThrow(/not a plain relative one/);
    },
  );

  test('two entries of one name', async () => {
    const bytes = zipSync({ 'aa.csv': encode('x'), 'ab.csv': encode('y') }, { level: 0 });
    const twice = Buffer.from(Buffer.from(bytes).toString('latin1').replaceAll('ab.csv', 'aa.csv'), 'latin1');
    await expect(open(twice)).rejects.toThrow('there are two of that name');
  });

  test('a bomb: 100 MB of zeros in 100 kB', async () => {
    const bytes = zipSync({ 'manifest.json': new Uint8Array(1e8) }, { level: 9 });
    expect(bytes.length).toBeLessThan(2e5);
    await expect(open(bytes)).rejects.toThrow(`more than ${zipLimits.maxRatio} times its size`);
  });

  test('a bomb that lies about its size stops at the size it declares', async () => {
    const bytes = zipSync({ 'manifest.json': new Uint8Array(5e6) }, { level: 9 });
    const view = new DataView(bytes.buffer);
    const directory = view.getUint32(bytes.length - 6, true);
    view.setUint32(directory + 24, 1000, true);
    await expect(open(bytes)).rejects.toThrow('it is longer than it says');
  });

  test('entries that share bytes', async () => {
    const bytes = zipSync({ a: encode('x'.repeat(500)), b: encode('y'.repeat(500)) }, { level: 0 });
    const view = new DataView(bytes.buffer);
    const directory = view.getUint32(bytes.length - 6, true);
    view.setUint32(directory + 47 + 42, 0, true);
    await expect(open(bytes)).rejects.toThrow('it overlaps what follows');
  });

  test('too many entries, encryption, other compression, a local name that differs', async () => {
    const limits = { ...zipLimits, maxEntries: 5 };
    await expect(readZipDirectory(source(good), limits)).rejects.toThrow('it has 9 entries; at most 5 are read');
    const patched = (at: number, value: number) => {
      const bytes = good.slice();
      const view = new DataView(bytes.buffer);
      view.setUint16(view.getUint32(bytes.length - 6, true) + at, value, true);
      return bytes;
    };
    await expect(open(patched(8, 1))).rejects.toThrow('it is encrypted');
    await expect(open(patched(10, 12))).rejects.toThrow('compression method 12 is not read');
    const renamed = altered(() => {}).slice();
    const at = Buffer.from(renamed).indexOf('manifest.json');
    renamed[at] = 'n'.charCodeAt(0);
    await expect(open(renamed)).rejects.toThrow('its header is damaged');
  });

  test('cut off anywhere', async () => {
    const cuts = fc.integer({ min: 0, max: good.length - 1 });
    const property = fc.asyncProperty(cuts, async n => {
      await expect(open(good.subarray(0, n))).rejects.toThrow(FormatError);
    });
    await fc.assert(property, { numRuns: 60, seed: 1 });
  });

  test('any changed byte is refused, reported or without effect', async () => {
    const places = fc.tuple(fc.integer({ min: 0, max: good.length - 1 }), fc.integer({ min: 1, max: 255 }));
    const property = fc.asyncProperty(places, async ([at, by]) => {
      const bytes = good.slice();
      bytes[at] = bytes[at]! ^ by;
      const { bundle, problems } = await checkBundle(source(bytes));
      if (problems.length === 0) expect(bundle!.reviewed).toEqual(made.reviewed);
    });
    await fc.assert(property, { numRuns: 150, seed: 2 });
  });
});

describe('a manifest that is not what it should be', () => {
  test('keys that reach into a prototype', async () => {
    for (const key of ['__proto__', 'constructor', 'prototype']) {
      const bytes = altered(files => {
        const text = decode(files['manifest.json']!).replace('"session":', `"${key}": {"polluted": 1}, "session":`);
        files['manifest.json'] = encode(text);
      }, true);
      await expect(open(bytes)).rejects.toThrow(`the key ${key} is not allowed`);
      expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
    }
  });

  test('a newer version, another format, no manifest, no JSON', async () => {
    const newer = open(manifestWith(m => void (m['formatVersion'] = 4)));
    await expect(newer).rejects.toThrow('format version 4; this program reads up to 3. Open it with a newer version');
    await expect(open(manifestWith(m => void (m['format'] = 'x')))).rejects.toThrow('not that of a session bundle');
    await expect(open(zipSync({ a: encode('x') }))).rejects.toThrow('there is no manifest.json');
    await expect(open(zipSync({ 'manifest.json': encode('{') }))).rejects.toThrow('it is not JSON');
    await expect(open(zipSync({ 'manifest.json': encode('null') }))).rejects.toThrow('not that of a session bundle');
  });

  // biome-ignore lint/suspicious/noExplicitAny: the point is to break the shape
  const broken: [string, (m: any) => void, string][] = [
    ['an unknown key', m => void (m.more = 1), 'Unrecognized key'],
    ['a rate of 0', m => void (m.recordings[0].samplingRateHz = 0), 'recordings.0.samplingRateHz'],
    ['a path elsewhere', m => void (m.recordings[0].leads[0].path = 'logs/R1.jsonl'), 'the path of lead 1'],
    ['a lead longer than its words', m => void m.recordings[0].leads[0].sampleCount++, 'needs 12002 bytes'],
    ['gaps out of order', m => void m.recordings[0].gaps.reverse(), 'the gap from 0 to 20 is out of place'],
    ['a segment past the end', m => void (m.recordings[0].segments[1].end = 6001), '"uphill run" is out of place'],
    ['two recordings of one id', m => void m.recordings.push(m.recordings[0]), 'two recordings have the same id'],
    ['marks counted wrongly', m => void m.recordings[0].detected.count++, 'it has 60 marks, not 61'],
    [
      'an entry that is not there',
      m => void (m.files['x.csv'] = { bytes: 1, sha256: '0'.repeat(64) }),
      'it is not there',
    ],
    ['a session id that is a path', m => void (m.session.id = '../x'), 'session.id'],
  ];
  test.each(broken)('%s', async (_, change, message) => {
    await expect(open(manifestWith(change))).rejects.toThrow(message);
    await expect(open(manifestWith(change))).rejects.toThrow(FormatError);
  });

  test('two segments of one name get names of their own, and that is reported', async () => {
    // biome-ignore lint/suspicious/noExplicitAny: the point is to break the shape
    const opened = await open(manifestWith((m: any) => void (m.recordings[0].segments[1].name = 'seated radio watch')));
    const [item] = opened.reviewed.session.recordings;
    expect(item!.segments.map(s => s.name)).toEqual(['seated radio watch', 'seated radio watch (2)']);
    expect(opened.warnings).toEqual([
      'Recording chest-band: Two segments are called "seated radio watch": the later one is named "seated radio watch (2)".',
    ]);
  });

  test('an entry nobody lists is left out with a word about it', async () => {
    const opened = await open(altered(files => void (files['notes.txt'] = encode('hello'))));
    expect(opened.reviewed).toEqual(made.reviewed);
    expect(opened.warnings).toEqual(['The entry notes.txt is not listed in the manifest and was left out.']);
  });
});

describe('changed contents', () => {
  test('words: opening succeeds, reading the lead does not', async () => {
    const bytes = altered(files => {
      const words = files['recordings/chest-band/1-lead-I.i16']!.slice();
      words[700] = words[700]! ^ 1;
      files['recordings/chest-band/1-lead-I.i16'] = words;
    }, true);
    const opened = await open(bytes);
    const read = opened.readLead('chest-band', 0, () => undefined);
    await expect(read).rejects.toThrow('the signal was changed: its checksum differs');
    expect((await checkBundle(source(bytes))).problems).toHaveLength(1);
  });

  test.each([
    ['another number', 'sample\n51\n150\n', true, 'its checksum differs'],
    ['out of order', 'sample\n150\n50\n', false, 'line 3: it is not a sample index after the one before'],
    ['not numbers', 'sample\n1e2\n', false, 'line 2: it is not a sample index'],
    ['no header', '50\n150\n', false, 'it is not one column named sample'],
  ])('detected marks: %s', async (_, text, keepSums, message) => {
    const bytes = altered(files => {
      const path = 'recordings/chest-band/detected.csv';
      const old = decode(files[path]!);
      files[path] = encode(keepSums ? text + old.slice(text.length) : text);
    }, keepSums);
    await expect(open(bytes)).rejects.toThrow(message);
  });
});

describe('a damaged log is opened as damaged, and the rest as usual', () => {
  const withLog = (change: (lines: string[]) => string[], keepSums = false) =>
    altered(files => {
      const lines = decode(files['logs/R1.jsonl']!).trimEnd().split('\n');
      files['logs/R1.jsonl'] = encode(`${change(lines).join('\n')}\n`);
    }, keepSums);

  async function damageOf(bytes: Uint8Array) {
    const opened = await open(bytes);
    expect(opened.reviewed.logs.map(l => l.header.rater)).toEqual(['R2']);
    expect(opened.reviewed.session).toEqual(made.reviewed.session);
    expect(opened.damaged).toHaveLength(1);
    expect(opened.warnings[0]).toContain('The log of R1 is damaged');
    return opened.damaged[0]!;
  }

  test('an entry changed', async () => {
    const damage = await damageOf(withLog(l => l.map((s, i) => (i === 3 ? s.replace('1100', '1300') : s))));
    expect(damage).toMatchObject({ rater: 'R1', seq: 2, why: 'entry 2 was changed after it was written' });
    expect(damage.sound!.entries).toEqual(made.reviewed.logs[0]!.entries.slice(0, 2));
    expect(damage.readable!.entries).toHaveLength(6);
  });

  test('an entry dropped, two swapped, the end cut off', async () => {
    expect(await damageOf(withLog(l => l.filter((_, i) => i !== 2)))).toMatchObject({ seq: 1 });
    expect(await damageOf(withLog(l => [...l.slice(0, 2), l[3]!, l[2]!, ...l.slice(4)]))).toMatchObject({ seq: 1 });
    const cut = await damageOf(withLog(l => l.slice(0, -2)));
    expect(cut).toMatchObject({ seq: 4, why: '2 of its 6 entries are missing at the end' });
    expect(cut.sound!.entries).toHaveLength(4);
  });

  test('a line that is no JSON, an entry of another shape, a prototype key, no header', async () => {
    const line = (n: number, text: string) => withLog(l => l.map((s, i) => (i === n ? text : s)));
    expect(await damageOf(line(2, '{"seq":'))).toMatchObject({ seq: 1, why: 'entry 1 is not JSON' });
    expect(await damageOf(line(2, '{"seq":1}'))).toMatchObject({ seq: 1 });
    expect(await damageOf(line(2, '{"__proto__":{"x":1}}'))).toMatchObject({ seq: 1, why: 'entry 1 is not JSON' });
    expect(await damageOf(line(0, 'R1'))).toMatchObject({ seq: null, sound: null, readable: null });
    expect((await damageOf(line(0, 'R1'))).text).toContain('"seq":5');
  });

  test('rewritten with a valid chain: the manifest knows another end', async () => {
    const last = made.reviewed.logs[0]!.entries[5]!;
    const short: EditLog = { ...made.reviewed.logs[0]!, entries: made.reviewed.logs[0]!.entries.slice(0, 5) };
    const { entry } = append(short, { at: last.at, recording: '', intent: 'finish', change: [], reason: 'other' });
    const damage = await damageOf(withLog(l => [...l.slice(0, -1), canonicalJson(entry)]));
    expect(damage).toMatchObject({ seq: null, why: 'it is not the log that the manifest lists' });
  });

  test('a valid chain of entries that do not fit the marks', async () => {
    const log = made.reviewed.logs[0]!;
    const removed = { op: 'marks', removed: [77], added: [] } as unknown as EditLog['entries'][0]['change'][0];
    const { entry } = append(
      { ...log, entries: [] },
      { at: 'x', recording: 'chest-band', intent: 'delete', change: [removed] },
    );
    const damage = await damageOf(withLog(l => [l[0]!, canonicalJson(entry)]));
    expect(damage).toMatchObject({ seq: 0, why: 'entry 0 does not fit the marks: no mark to remove at sample 77' });
  });

  test('a log of other marks or of another session', async () => {
    const damage = await damageOf(
      withLog(l => [l[0]!.replace(/"chest-band":"..../, '"chest-band":"0000'), ...l.slice(1)]),
    );
    expect(damage).toMatchObject({ seq: null, why: 'it judges other detected marks than these' });
    const other = await damageOf(withLog(l => [l[0]!.replace('V01-training', 'V02-training'), ...l.slice(1)]));
    expect(other.why).toBe('it belongs to session V02-training-day');
  });
});

describe('a bundle for a blind rater', () => {
  test('has no byte of the others: no code, no entry, no hash', async () => {
    const three = madeSession(['R1', 'SECRET-2', 'R3']);
    const opened = await open(writeBundle(three.reviewed, three.leads, { raters: ['R1'], level: 0 }));
    expect(opened.reviewed.logs).toEqual([three.reviewed.logs[0]]);
    for (const raters of [['R1'], []]) {
      const files = unzipSync(writeBundle(three.reviewed, three.leads, { raters }));
      const all = Buffer.concat(
        Object.entries(files).flatMap(([path, bytes]) => [Buffer.from(path), Buffer.from(bytes)]),
      );
      for (const log of three.reviewed.logs) {
        const traces = [log.header.rater, `remark of ${log.header.rater}`, ...log.entries.map(e => e.hash)];
        const shown = raters.includes(log.header.rater);
        for (const trace of traces) expect(all.includes(trace), trace).toBe(shown);
      }
    }
  });

  test('is the same bytes as if the other logs had never been', () => {
    const three = madeSession(['R1', 'R2', 'R3']);
    const one = { session: three.reviewed.session, logs: [three.reviewed.logs[0]!] };
    expect(writeBundle(three.reviewed, three.leads, { raters: ['R1'] })).toEqual(writeBundle(one, three.leads));
  });
});
