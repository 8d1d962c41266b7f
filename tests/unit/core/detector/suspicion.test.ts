import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { SuspicionInput } from '../../../../src/core/detector/suspicion/context';
import { createFeatureExtractor, signalFeatures } from '../../../../src/core/detector/suspicion/features';
import {
  listed,
  suspicions,
  suspicionTable,
  updateSuspicions,
} from '../../../../src/core/detector/suspicion/suspicion';
import { type RecordingReview, startReview } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import { normalise } from '../../../../src/core/marks/spans';
import { reviewQueue } from '../../../../src/core/review/places/queue';
import { recordingEffects } from '../../../../src/core/review/places/recording-effects';
import type { SampleIndex } from '../../../../src/core/units';
import { span } from '../../../../src/core/units';
import { regularBeats } from './pulses';

const hz = 250;
const { words, beats } = regularBeats({ samplingRateHz: hz, rrS: 0.8, seconds: 120 });
const features = signalFeatures(words, hz);

function input(marks: Iterable<number>, more: Partial<SuspicionInput> = {}): SuspicionInput {
  return { features, marks: marksFrom(marks), second: beats, secondUnsure: [], gaps: [], unreadable: [], ...more };
}

const without = (k: number) => [...beats].filter((_, i) => i !== k);
const at = (k: number) => beats[k]!;
const queueOf = (i: SuspicionInput) => reviewQueue(suspicions(i), startReview(i.marks), hz);

describe('suspicion on planted mistakes', () => {
  test('right marks on a clean recording raise nothing', () => {
    expect(queueOf(input(beats))).toEqual([]);
  });

  test('a missed beat comes first, with its place to insert', () => {
    const [first] = queueOf(input(without(50)));
    expect(first?.mark).toBeNull();
    expect(first?.candidates[0]).toEqual({ kind: 'insert', at: at(50) });
    expect(first?.sentences.join()).toContain('a beat may be missing');
  });

  test('without a second detector the place is guessed from the rhythm', () => {
    const [first] = queueOf(input(without(50), { second: null }));
    expect(Math.abs(first!.at - at(50))).toBeLessThan(0.05 * hz);
    expect(first?.reason).toBe('multiple interval');
  });

  test('several beats missing in a row, at the start and at the end', () => {
    const gone = [...beats.keys()].filter(k => k < 4 || (k >= 60 && k < 65) || k >= beats.length - 4);
    const marks = [...beats].filter((_, k) => !gone.includes(k));
    for (const second of [beats, null]) {
      const items = queueOf(input(marks, { second }));
      const inserts = items.flatMap(i => i.candidates.filter(c => c.kind === 'insert').map(c => c.at as number));
      for (const k of gone) expect(inserts.some(p => Math.abs(p - at(k)) < 0.3 * hz)).toBe(true);
    }
  });

  test('an extra mark offers its deletion', () => {
    const extra = at(50) + 0.4 * hz;
    const [first] = queueOf(input([...beats, extra]));
    expect(first?.mark).toBe(extra);
    expect(first?.candidates[0]).toEqual({ kind: 'delete', at: extra });
  });

  test('a mark on the T wave offers the move to the R peak', () => {
    const onT = at(50) + Math.round(0.28 * hz);
    const [first] = queueOf(input([...without(50), onT]));
    expect(first?.mark).toBe(onT);
    expect(first?.candidates[0]).toEqual({ kind: 'move', at: onT, to: at(50) });
  });

  test('a mark on a wrong wave is one place: not also a gap to fill before it', () => {
    const late = at(50) + Math.round(0.15 * hz);
    const items = queueOf(input([...without(50), late], { second: null }));
    expect(items.filter(i => i.mark === null)).toEqual([]);
    expect(items.find(i => i.mark === late)?.candidates).not.toEqual([]);
  });

  test('a mark beside its peak offers the move even when no second detector ran', () => {
    const shifted = at(50) + Math.round(0.06 * hz);
    const [first] = queueOf(input([...without(50), shifted], { second: null }));
    expect(first?.mark).toBe(shifted);
    const move = first?.candidates.find(c => c.kind === 'move');
    expect(Math.abs((move?.to ?? 0) - at(50))).toBeLessThanOrEqual(0.012 * hz);
  });

  test('a mark on the wrong wave of a beat whose like are marked elsewhere, though the second detector has it there too', () => {
    const late = Math.round(0.045 * hz);
    const wide = (k: number) => k % 4 === 0;
    const ectopic = Int16Array.from(words);
    for (let k = 4; k < beats.length - 2; k += 4)
      for (let i = -30; i < 60; i++) ectopic[at(k) + i]! -= Math.round(500 * Math.exp(-0.5 * ((i - late) / 9) ** 2));
    const marks = beats.map((b, k) => (wide(k) ? b + late : b));
    const second = beats.map((b, k) => (k === 48 ? b + late : b));
    const found = suspicions(input(marks, { features: signalFeatures(ectopic, hz), second }));
    const own = found.find(s => s.mark === marks[48]);
    expect(own?.findings.map(f => f.sentence)).toContain('the second detector puts beats like this one 44 ms earlier');
    expect(found.some(s => s.mark === marks[47])).toBe(false);
  });

  test('what the second detector says of its own beats counts', () => {
    const secondChance = new Float32Array(beats.length).fill(1);
    secondChance[50] = 0.6;
    const [sure, unsure] = [suspicions(input(beats)), suspicions(input(beats, { secondChance }))];
    expect(sure).toEqual([]);
    expect(unsure.map(s => [s.mark, s.findings.map(f => f.reason)])).toEqual([[at(50), ['second detector: doubtful']]]);
    const [missed] = suspicions(input(without(50)));
    const [less] = suspicions(input(without(50), { secondChance }));
    expect(less!.score).toBeLessThan(missed!.score);
    const before = suspicionTable(input(beats));
    expect(listed(updateSuspicions(before, { ...before.input, secondChance }))).toEqual(unsure);
  });

  test('the second opinion does not count where it could not see', () => {
    const extra = [...beats, at(50) + 0.4 * hz];
    const unsure = input(extra, { secondUnsure: [span(at(49), at(52))] });
    const reasons = suspicions(unsure).flatMap(s => s.findings.map(f => f.reason));
    expect(reasons).not.toContain('second detector: none here');
  });

  test('beats missing inside a gap or an unreadable span raise nothing', () => {
    const marks = [...beats].filter((_, k) => k < 40 || k >= 50);
    const hole = [span(at(39) + 100, at(50) - 100)];
    expect(queueOf(input(marks, { unreadable: hole, second: null })).filter(i => i.mark === null)).toEqual([]);
    expect(queueOf(input(marks, { gaps: hole, second: null })).filter(i => i.mark === null)).toEqual([]);
  });

  test('noise, shape and height alone suggest nothing; a suggestion needs an opinion or an interval', () => {
    const spoilt = Int16Array.from(words);
    for (let k = 30; k < 90; k += 3) for (let i = -40; i < 40; i++) spoilt[at(k) + i]! += ((i * 7919) % 13) * 60;
    const found = suspicions(input(beats, { features: signalFeatures(spoilt, hz) }));
    const beside = found.filter(s => s.findings.some(f => ['shape', 'noise', 'amplitude'].includes(f.reason)));
    expect(beside.length).toBeGreaterThan(10);
    expect(beside.flatMap(s => s.candidates)).toEqual([]);
  });

  test('a whole gap is one place that offers every beat in it', () => {
    const marks = [...beats].filter((_, k) => k < 50 || k >= 53);
    const [first] = queueOf(input(marks));
    expect(first?.leads).toEqual([at(50), at(51), at(52)]);
    expect(first?.candidates.map(c => c.kind)).toEqual(['insert', 'insert', 'insert']);
  });

  test('the chance of a mistake is higher where the second detector names the beat than by the interval alone', () => {
    const chance = (second: typeof beats) => queueOf(input(without(50), { second }))[0]!.score;
    expect(chance(beats)).toBeGreaterThan(0.9);
    expect(chance(marksFrom(without(50)))).toBeLessThan(chance(beats));
  });

  test('flat line and clipping are named', () => {
    const spoilt = Int16Array.from(words);
    spoilt.fill(spoilt[at(20)]!, at(20) - 40, at(20) + 40);
    for (let i = at(70) - 60; i < at(70) + 60; i++) spoilt[i] = Math.min(400, spoilt[i]! * 40);
    const found = suspicions(input(beats, { features: signalFeatures(spoilt, hz) }));
    const sentencesAt = (k: number) =>
      found.filter(s => s.mark === at(k)).flatMap(s => s.findings.map(f => f.sentence));
    expect(sentencesAt(20)).toContain('the line is flat here: no signal');
    expect(sentencesAt(70)).toContain('the signal is cut off at its limit here');
  });

  test('no marks at all still give something to do', () => {
    const items = queueOf(input([]));
    expect(items.length).toBeGreaterThan(0);
    expect(items[0]!.candidates.length).toBeGreaterThan(10);
    expect(queueOf(input([], { second: null })).length).toBeGreaterThan(0);
  });
});

describe('queue', () => {
  test('what was dismissed or accepted does not come back', () => {
    const marks = marksFrom([...without(50), at(70) + 100]);
    const found = suspicions(input(marks));
    const review = startReview(marks);
    const [first, second] = reviewQueue(found, review, hz);
    const dismissed = { ...review, dismissals: [{ reason: first!.reason, at: first!.at }] };
    expect(reviewQueue(found, dismissed, hz).some(i => i.at === first!.at)).toBe(false);
    const accepted = { ...dismissed, accepted: [span(second!.at - 10, second!.at + 10)] };
    expect(reviewQueue(found, accepted, hz).some(i => i.at === second!.at)).toBe(false);
  });

  test('what the person found about a reason changes the chance of the same reason elsewhere', () => {
    const holes = [20, 40, 60, 80, 100];
    const marks = marksFrom([...beats].filter((_, k) => !holes.includes(k)));
    const found = suspicions(input(marks, { second: null }));
    const before = reviewQueue(found, startReview(marks), hz).find(i => Math.abs(i.at - at(100)) < 20)!;
    const review = (part: Partial<RecordingReview>) => ({ ...startReview(marks), ...part });
    const chance = (r: RecordingReview) => {
      const effects = recordingEffects(found, marks, r, hz);
      return reviewQueue(found, r, hz, effects).find(i => i.id === before.id)!.score;
    };
    const asideAt = holes.slice(0, 4).map(k => ({ reason: before.reason, at: at(k) as SampleIndex }));
    expect(chance(review({}))).toBe(before.score);
    expect(chance(review({ dismissals: asideAt }))).toBeLessThan(before.score);
    const filled = marksFrom([...marks, ...holes.slice(0, 4).map(at)]);
    expect(chance(review({ marks: filled }))).toBeGreaterThan(before.score);
    // What is unreadable says nothing about a reason.
    expect(chance(review({ unreadable: [span(at(10), at(90))] }))).toBe(before.score);
  });

  test('dismissing a missing beat holds while its guessed place wanders', () => {
    const marks = marksFrom(without(50));
    const review = {
      ...startReview(marks),
      dismissals: [{ reason: 'long interval', at: (at(50) + 20) as SampleIndex }],
    };
    expect(reviewQueue(suspicions(input(marks)), review, hz).filter(i => i.mark === null)).toEqual([]);
  });
});

describe('updates', () => {
  test('after any edits the update equals computing everything anew', () => {
    const edit = fc.record({ remove: fc.nat(beats.length - 1), add: fc.nat(words.length - 1) });
    fc.assert(
      fc.property(fc.array(edit, { minLength: 1, maxLength: 6 }), edits => {
        let marks = new Set<number>(beats);
        let table = suspicionTable(input(marks));
        for (const e of edits) {
          marks = new Set(marks);
          marks.delete(beats[e.remove]!);
          marks.add(e.add);
          const next = { ...table.input, marks: marksFrom(marks) };
          table = updateSuspicions(table, next);
          expect(listed(table)).toEqual(suspicions(next));
        }
      }),
      { numRuns: 10, seed: 7 },
    );
  });

  test('after spans were called unreadable or readable, between edits of marks, it does too', () => {
    const spans = fc.array(fc.tuple(fc.nat(words.length - 1), fc.integer({ min: 1, max: 6 * hz })), { maxLength: 3 });
    const edit = fc.record({ add: fc.option(fc.nat(words.length - 1)), spans });
    // Another lead whose waves come 60 ms later speaks against each mark beside the marks around it.
    const later = words.map((_, i) => words[Math.max(0, i - 0.06 * hz)]!);
    const twoLeads = signalFeatures(words, hz, later);
    const spoken = suspicions({ ...input(beats), features: twoLeads }).flatMap(s => s.findings.map(f => f.reason));
    expect(spoken).toContain('another lead: elsewhere');
    fc.assert(
      fc.property(fc.array(edit, { minLength: 1, maxLength: 5 }), edits => {
        let marks = beats;
        let table = suspicionTable({ ...input(marks), features: twoLeads });
        for (const e of edits) {
          if (e.add !== null) marks = marksFrom([...marks, e.add]);
          const unreadable = normalise(e.spans.map(([start, length]) => span(start, start + length)));
          const next = { ...table.input, marks, unreadable };
          table = updateSuspicions(table, next);
          expect(listed(table)).toEqual(suspicions(next));
        }
      }),
      { numRuns: 15, seed: 11 },
    );
  });

  test('where there is no mark at all it does too', () => {
    const table = suspicionTable(input([]));
    const next = { ...table.input, unreadable: [span(0, words.length / 2)] };
    expect(listed(table)).not.toEqual(suspicions(next));
    expect(listed(updateSuspicions(table, next))).toEqual(suspicions(next));
  });

  test('a span in a recording without any mark changes what is missing there', () => {
    const table = suspicionTable(input([]));
    const next = { ...table.input, unreadable: [span(at(10), at(40))] };
    expect(listed(updateSuspicions(table, next))).toEqual(suspicions(next));
  });

  test('features do not depend on how the words arrive', () => {
    const fast = regularBeats({ samplingRateHz: 1000, rrS: 0.8, seconds: 20 }).words;
    const whole = signalFeatures(fast, 1000);
    for (const piece of [1, 333, 5000]) {
      const extractor = createFeatureExtractor(1000);
      for (let i = 0; i < fast.length; i += piece) extractor.push(fast.subarray(i, i + piece));
      expect(extractor.finish()).toEqual(whole);
    }
  });
});
