import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { BeatOutcome, defaultMatchSettings, match } from '../../../../src/core/marks/match';
import { covers } from '../../../../src/core/marks/spans';
import { scoreRecording } from '../../../../src/core/score/score';
import { type Ecg, simulateEcg } from '../../../../src/core/simulate/ecg';
import { countsByShare, type PlantPlan, plantMistakes } from '../../../../src/core/simulate/plant';
import { restingVariability } from '../../../../src/core/simulate/rhythm';
import { plainShape } from '../../../../src/core/simulate/waveform';
import { span } from '../../../../src/core/units';

function recorded(bpm: number, rateHz: number, ectopics: number): Ecg {
  return simulateEcg(
    {
      rhythm: {
        durationSeconds: 200,
        effort: [{ atSeconds: 0, heartRateBpm: bpm, breathsPerMinute: 20, settlingSeconds: 30 }],
        variability: restingVariability,
        ventricularPerMinute: ectopics,
        supraventricularPerMinute: ectopics,
      },
      shape: plainShape,
      recorder: {
        samplingRateHz: rateHz,
        durationSeconds: 200,
        leads: [{ name: 'a', angleDegrees: 40 }],
        mvPerUnit: 0.005,
        fullScaleMv: 5,
        mainsHz: 50,
        floorMv: 0.01,
        startSeconds: 0,
        driftPpm: 0,
        noise: [
          { kind: 'motion', fromSeconds: 20, toSeconds: 50, levelMv: 0.5 },
          { kind: 'storm', fromSeconds: 60, toSeconds: 66, levelMv: 2 },
          { kind: 'off', fromSeconds: 150, toSeconds: 154, levelMv: 0 },
        ],
      },
    },
    `plant ${bpm} ${rateHz} ${ectopics}`,
  );
}

const ecgs = [recorded(62, 250, 0), recorded(75, 250, 3), recorded(120, 130, 0), recorded(172, 130, 0)];

describe('planted mistakes', () => {
  test('come out of the matcher and the score as exactly those counts, segment by segment', () => {
    const counts = fc.record({
      missed: fc.nat(10),
      wrongPeak: fc.nat(8),
      extra: fc.nat(8),
      shifted: fc.nat(5),
    });
    const property = fc.property(
      fc.constantFrom(...ecgs),
      counts,
      counts,
      fc.nat(),
      fc.record({
        noiseWeight: fc.constantFrom(1, 20),
        longestRun: fc.integer({ min: 1, max: 4 }),
        jitterShare: fc.constantFrom(0, 0.2),
        marksOnNoise: fc.boolean(),
      }),
      (ecg, first, second, seed, options) => {
        const middle = 100 * ecg.samplingRateHz;
        const segments = [
          { name: 'first', ...span(0, middle) },
          { name: 'second', ...span(middle, ecg.sampleCount) },
        ];
        const plan: PlantPlan = {
          stretches: [
            { ...span(0, middle), ...first },
            { ...span(middle, ecg.sampleCount), ...second },
          ],
          ...options,
        };
        const { detected, planted, jittered } = plantMistakes(ecg, plan, seed);
        const scored = scoreRecording({
          beats: ecg.beats,
          marks: detected,
          unreadable: ecg.unreadable,
          gaps: [],
          segments,
          samplingRateHz: ecg.samplingRateHz,
          settings: defaultMatchSettings,
        });
        for (const [i, want] of [first, second].entries()) {
          const got = scored.segments[i]!.counts;
          expect({ missed: got.missed, wrongPeak: got.wrongPeak, extra: got.extra }).toEqual({
            missed: want.missed,
            wrongPeak: want.wrongPeak + want.shifted,
            extra: want.extra,
          });
        }
        expect(scored.total.counts.refined).toBe(jittered.length);
        const result = match(ecg.beats, detected, ecg.unreadable, ecg.samplingRateHz);
        for (const p of planted) {
          if (p.mark !== null) expect(detected).toContain(p.mark);
          if (p.beat === null) continue;
          const k = result.beats.indexOf(p.beat);
          const missed = p.kind === 'missed';
          expect(result.outcome[k]).toBe(missed ? BeatOutcome.missed : BeatOutcome.wrongPeak);
          expect(result.markOfBeat[k]).toBe(missed ? -1 : result.marks.indexOf(p.mark!));
        }
      },
    );
    fc.assert(property, { numRuns: 150, seed: 20261125 });
  });

  test('gather where the noise is when told to', () => {
    const ecg = ecgs[0]!;
    const noisy = ecg.noiseSpans.filter(n => n.kind === 'motion');
    const share = (noiseWeight: number) => {
      const stretch = { ...span(0, ecg.sampleCount), missed: 8, wrongPeak: 0, extra: 0, shifted: 0 };
      const runs = Array.from({ length: 40 }, (_, seed) =>
        plantMistakes(ecg, { stretches: [stretch], noiseWeight }, seed).planted.map(p => covers(noisy, p.beat!)),
      ).flat();
      return runs.filter(Boolean).length / runs.length;
    };
    // 30 of 190 readable seconds are noisy.
    expect(share(1)).toBeLessThan(0.25);
    expect(share(30)).toBeGreaterThan(0.7);
  });

  test('wrong marks sit on the wave asked for', () => {
    const ecg = ecgs[0]!;
    const stretch = { ...span(0, ecg.sampleCount), missed: 0, wrongPeak: 12, extra: 0, shifted: 0 };
    const { planted } = plantMistakes(ecg, { stretches: [stretch], wrongMarksOn: ['T wave'] }, 1);
    for (const p of planted) {
      expect(p.on).toBe('T wave');
      const level = (i: number) => ecg.clean[i]!;
      expect(level(p.mark!)).toBeGreaterThan(level(p.mark! - 10));
      expect(level(p.mark!)).toBeGreaterThan(level(p.mark! + 10));
    }
  });

  test('shares become whole numbers of readable beats; too many mistakes are refused', () => {
    const ecg = ecgs[0]!;
    const readable = [...ecg.beats].filter(b => !covers(ecg.unreadable, b)).length;
    const stretch = countsByShare(ecg, span(0, ecg.sampleCount), { missed: 0.1, extra: 0.02 });
    expect(stretch).toMatchObject({
      missed: Math.round(readable * 0.1),
      extra: Math.round(readable * 0.02),
      wrongPeak: 0,
    });
    const tooMany = { ...span(0, ecg.sampleCount), missed: 5000, wrongPeak: 0, extra: 0, shifted: 0 };
    expect(() => plantMistakes(ecg, { stretches: [tooMany] }, 1)).toThrow(RangeError);
  });
});
