import { unzipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import type { Lead, SampleArray } from '../../../../src/core/recording/recording';
import type { ReviewedSession, SessionRecording } from '../../../../src/core/review/session';
import { span } from '../../../../src/core/units';
import { checkBundle } from '../../../../src/formats/bundle/check';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { bundleBlocks, writeBundle } from '../../../../src/formats/bundle/writer';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { joinBytes } from '../../../../src/formats/zip/writer';
import { madeSession } from './reviewed';

const open = (bytes: Uint8Array) => readBundle(bytesSource('session.zip', bytes));
const days = 86_400 * 250;

const lead = (name: string, words: SampleArray, unrecorded?: Lead['unrecorded']): Lead => ({
  name,
  samplingRateHz: 250,
  sampleCount: words.length + (unrecorded ?? []).reduce((n, s) => n + s.end - s.start, 0),
  ...(unrecorded ? { unrecorded } : {}),
  format: 'int16',
  mvPerUnit: 0.005,
  offset: 3,
  fileUnit: 'mV',
});

/** One recorder with these leads; the first one's stretches without words are the recording's gaps. */
function sessionWith(leads: readonly Lead[], change: Partial<SessionRecording['recording']> = {}): ReviewedSession {
  const { session } = madeSession(['R1'], 10).reviewed;
  const [item] = session.recordings;
  const { sampleCount, unrecorded = [] } = leads[0]!;
  const recording = { ...item!.recording, samplingRateHz: 250, sampleCount, leads, gaps: unrecorded, ...change };
  return { session: { ...session, recordings: [{ ...item!, recording, segments: [] }] }, logs: [] };
}

const words = Int16Array.from({ length: 1200 }, (_, i) => (i * 7919) % 613);
const gaps = [span(500, 500 + 30 * days), span(600 + 30 * days, 600 + 59 * days)];

describe('a bundle of a recording with gaps', () => {
  const reviewed = sessionWith([lead('chest', words, gaps)]);
  const bytes = writeBundle(reviewed, () => words);

  test('holds what was recorded and says where it belongs', async () => {
    const [path, entry] = Object.entries(unzipSync(bytes)).find(([p]) => p.endsWith('.i16'))!;
    expect(entry).toHaveLength(2 * words.length);
    const opened = await open(bytes);
    expect(opened.reviewed.session).toEqual(reviewed.session);
    const sink = memorySink();
    await opened.readRecording('chest-band', sink);
    expect(sink.lead(0)).toEqual(words);
    const onTimeLine = sink.samples(0, 3);
    expect(onTimeLine.sampleCount).toBe(reviewed.session.recordings[0]!.recording.sampleCount);
    expect(await onTimeLine.read(498, 503)).toEqual(Int16Array.of(words[498]!, words[499]!, 3, 3, 3));
    const last = 600 + 59 * days;
    expect(await onTimeLine.read(last - 1, last + 2)).toEqual(Int16Array.of(3, words[600]!, words[601]!));
    expect(path).toContain('chest-band');
    expect((await checkBundle(bytesSource('session.zip', bytes))).problems).toEqual([]);
  });

  test('is the same bytes when written from a time line, and after reading', async () => {
    const sink = memorySink();
    const opened = await open(bytes);
    await opened.readRecording('chest-band', sink);
    const parts: Uint8Array[] = [];
    for await (const block of bundleBlocks(opened.reviewed, () => sink.samples(0, 3))) parts.push(block.slice());
    expect(Buffer.compare(joinBytes(parts), bytes)).toBe(0);
  });

  test.each([
    ['before its first word', [span(0, 500)]],
    ['in the wrong order', [span(700, 800), span(600, 650)]],
    ['beyond the end', [span(1000, 1050), span(1150, 1300)]],
  ])('is refused with a stretch %s', (_name, stretches) => {
    const wrong = { ...lead('chest', words, stretches), sampleCount: 1250 };
    const kept = wrong.sampleCount - stretches.reduce((n, s) => n + s.end - s.start, 0);
    expect(() => writeBundle(sessionWith([wrong], { gaps: [] }), () => new Int16Array(kept))).toThrow(
      /of lead 1, the stretch from \d+ to \d+ without words is out of place/,
    );
  });
});

test('a recording of 70 leads is bundled and opened again', async () => {
  const leads = Array.from({ length: 70 }, (_, i) => lead(`E${i + 1}`, words));
  const bytes = writeBundle(sessionWith(leads), (_, i) => words.map(w => w + i));
  const opened = await open(bytes);
  const sink = memorySink();
  await opened.readRecording('chest-band', sink);
  expect(sink.leadCount).toBe(70);
  expect([sink.lead(0)[5], sink.lead(69)[5]]).toEqual([words[5], words[5]! + 69]);
});

describe('the check of a bundle finds', () => {
  const problemsOf = async (reviewed: ReviewedSession) => {
    return (
      await checkBundle(
        bytesSource(
          'x',
          writeBundle(reviewed, (_, i) => words.subarray(0, i > 0 ? 900 : 1200)),
        ),
      )
    ).problems;
  };

  test('nothing in a sound one', async () => {
    expect(await problemsOf(sessionWith([lead('chest', words)]))).toEqual([]);
  });

  test('marks beyond the end', async () => {
    const reviewed = sessionWith([lead('chest', words)]);
    const [item] = reviewed.session.recordings;
    const recordings = [{ ...item!, detected: marksFrom([100, 1199, 1200, 5000]) }];
    expect(await problemsOf({ ...reviewed, session: { ...reviewed.session, recordings } })).toEqual([
      'Recording chest-band: 2 detected marks lie beyond its end.',
    ]);
  });

  test('a scale of 0, a lead of another length, and a gap that is not listed', async () => {
    expect(await problemsOf(sessionWith([{ ...lead('chest', words), mvPerUnit: 0 }]))).toEqual([
      'Recording chest-band: the scale of chest is 0.',
    ]);
    expect(await problemsOf(sessionWith([lead('chest', words), lead('side', words.subarray(0, 900))]))).toEqual([
      'Recording chest-band: side is 1.200 s shorter than it.',
    ]);
    expect(await problemsOf(sessionWith([lead('chest', words, [span(500, 800)])], { gaps: [] }))).toEqual([
      'Recording chest-band: nothing is recorded from sample 500 on, which is not among its gaps.',
    ]);
  });
});
