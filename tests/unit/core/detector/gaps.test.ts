import { describe, expect, test } from 'vitest';
import { createDetector, detectBeats } from '../../../../src/core/detector/detect';
import { notSinusProposal } from '../../../../src/core/detector/sinus/kinds';
import { createFeatureExtractor, type SignalFeatures } from '../../../../src/core/detector/suspicion/features';
import { listed, suspicionTable, updateSuspicions } from '../../../../src/core/detector/suspicion/suspicion';
import { marksFrom } from '../../../../src/core/marks/markset';
import { span } from '../../../../src/core/units';
import { regularBeats } from './pulses';

const hz = 250;
const one = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 40 });
const other = regularBeats({ samplingRateHz: hz, rrS: 0.9, seconds: 50 });

/** Both with so many samples between them of which nothing was recorded. */
function withGap(length: number) {
  const gap = span(one.words.length, one.words.length + length);
  const detector = createDetector(hz, { gaps: [gap], zeroWords: [12] });
  detector.push(one.words);
  detector.skip(length);
  detector.push(other.words);
  return { gap, found: detector.finish() };
}

function asWords(length: number) {
  const words = new Int16Array(one.words.length + length + other.words.length).fill(12);
  words.set(one.words);
  words.set(other.words, one.words.length + length);
  return words;
}

describe('what was not recorded, to the detector', () => {
  test('is the same as words of 0 mV, where the gap is short', () => {
    const { gap, found } = withGap(30 * hz);
    expect(found).toEqual(detectBeats(asWords(30 * hz), hz, { gaps: [gap] }));
    expect(found.samples.length).toBeGreaterThan(90);
  });

  // source: the detector itself on the two parts as recordings of their own
  test('divides two recordings, where the gap is long: weeks take no longer', () => {
    for (const length of [61 * hz, 50 * 86_400 * hz]) {
      const { gap, found } = withGap(length);
      const [a, b] = [detectBeats(one.words, hz), detectBeats(other.words, hz)];
      expect(found.samples).toEqual(marksFrom([...a.samples, ...b.samples.map(s => s + gap.end)]));
      expect([...found.probability]).toEqual([...a.probability, ...b.probability]);
      expect(found.unsure.some(s => s.start <= gap.start && s.end >= gap.end)).toBe(true);
    }
  });
});

function featuresOf(length: number, skipped: boolean): SignalFeatures {
  const extractor = createFeatureExtractor(hz);
  if (!skipped) extractor.push(asWords(length));
  else {
    extractor.push(one.words);
    extractor.skip(length, 12);
    extractor.push(other.words);
  }
  return extractor.finish();
}

describe('what was not recorded, to suspicion', () => {
  const length = 400 * hz + 3;
  const gap = span(one.words.length, one.words.length + length);
  const beats = marksFrom([...one.beats, ...other.beats.map(b => b + gap.end)]);
  // One missing and one extra on either side, and one that is beside its peak.
  const marks = marksFrom(
    [...beats.filter((_, i) => i !== 10 && i !== 70), beats[20]! + 90, beats[80]! + 90].sort((a, b) => a - b),
  );
  // Some beats of the second detector are doubtful, and one stands where nothing was recorded.
  const second = marksFrom([...beats, gap.start + 40_000].sort((a, b) => a - b));
  const secondChance = Float32Array.from(second, (_, i) => (i % 9 === 4 ? 0.6 : 1));
  const inputOf = (features: SignalFeatures, now: Iterable<number>) => ({
    features,
    marks: marksFrom(now),
    second,
    secondChance,
    secondUnsure: [gap],
    gaps: [gap],
    unreadable: [span(gap.end + 2000, gap.end + 2500)],
  });

  // source: the same on words of 0 mV in the gap, which takes room for every sample
  test('gives the same places as words of 0 mV, after edits too', () => {
    const [dense, sparse] = [featuresOf(length, false), featuresOf(length, true)];
    expect(sparse.working.length).toBeLessThan(dense.working.length - 370 * hz);
    let [a, b] = [suspicionTable(inputOf(dense, marks)), suspicionTable(inputOf(sparse, marks))];
    expect(listed(b).length).toBeGreaterThan(3);
    expect(listed(b)).toEqual(listed(a));
    for (const remove of [15, 75, 100]) {
      const fewer = marks.filter((_, i) => i !== remove);
      a = updateSuspicions(a, { ...a.input, marks: marksFrom(fewer) });
      b = updateSuspicions(b, { ...b.input, marks: marksFrom(fewer) });
      expect(listed(b)).toEqual(listed(a));
    }
  });

  test('marks in the middle of a gap are nothing to look at', () => {
    const inside = marksFrom([...marks, gap.start + 50_000].sort((a, b) => a - b));
    const places = listed(suspicionTable(inputOf(featuresOf(length, true), inside)));
    expect(places.some(p => p.at > gap.start + 10_000 && p.at < gap.end - 10_000)).toBe(false);
    expect(places).toEqual(listed(suspicionTable(inputOf(featuresOf(length, true), marks))));
  });

  // source: the same on words of 0 mV in the gap
  test('the beats proposed as not sinus are the same, and where they were', () => {
    // Marks on T waves in place of some beats: another shape, early or late.
    const early = beats.map((at, i) => (i % 13 === 6 ? at + 70 : at));
    const [a, b] = [false, true].map(skipped =>
      notSinusProposal([{ features: featuresOf(length, skipped), mvPerUnit: 0.005 }], early),
    );
    expect(b!.beats.length).toBeGreaterThan(0);
    expect(b!.beats).toEqual(a!.beats);
  });

  test('a gap of weeks takes the room of a short one', () => {
    expect(featuresOf(50 * 86_400 * hz, true).working.length).toBeLessThan(
      featuresOf(60 * hz, true).working.length + hz,
    );
  });
});
