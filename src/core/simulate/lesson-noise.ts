import type { Random } from '../random';
import type { NoiseSpec } from './noise';

/**
 * How disturbed a lesson is: `light` everywhere readable, `hiding` with stretches that hide the beats, `walking` with the
 * electrode motion of a person who walks twice.
 */
export type LessonNoise = 'light' | 'some' | 'heavy' | 'hiding' | 'walking';

/** Noise of one lesson; levels grow with the difficulty (1 to 5). */
export function lessonNoise(
  amount: LessonNoise,
  difficulty: number,
  durationSeconds: number,
  rMv: number,
  random: Random,
): NoiseSpec[] {
  const level = (share: number) => rMv * share * random.between(0.8, 1.2);
  const whole = { fromSeconds: 0, toSeconds: durationSeconds };
  const out: NoiseSpec[] = [{ ...whole, kind: 'baseline', levelMv: level(0.03 + 0.03 * difficulty) }];
  const burst = (kind: 'muscle' | 'motion', share: number, seconds: readonly [number, number]) => {
    const length = random.between(...seconds);
    const fromSeconds = random.between(2, durationSeconds - length - 2);
    out.push({ kind, fromSeconds, toSeconds: fromSeconds + length, levelMv: level(share) });
  };
  if (amount === 'walking') return [...out, ...walks(durationSeconds, level(0.07 + 0.03 * difficulty))];
  const bursts = { light: difficulty - 1, some: difficulty + 1, heavy: 5 + difficulty, hiding: difficulty }[amount];
  const strength = amount === 'heavy' ? 1.5 : 1;
  for (let i = 0; i < bursts; i++) {
    if (i % 2 === 0) burst('muscle', strength * (0.03 + 0.014 * difficulty), [6, 14]);
    else burst('motion', strength * (0.12 + 0.05 * difficulty), [4, 9]);
  }
  const hidden = { light: 0, some: Math.floor(difficulty / 2), heavy: Math.ceil(difficulty / 2), hiding: 3 }[amount];
  return [...out, ...hidingStretches(hidden, durationSeconds, rMv, random)];
}

function walks(durationSeconds: number, levelMv: number): NoiseSpec[] {
  return [
    [0.1, 0.45],
    [0.55, 0.9],
  ].map(([from, to]) => ({
    kind: 'steps',
    fromSeconds: Math.round(from! * durationSeconds),
    toSeconds: Math.round(to! * durationSeconds),
    levelMv,
  }));
}

/** Stretches that hide the beats, one in each of `count` equal parts of the recording, clear of its edges. */
function hidingStretches(count: number, durationSeconds: number, rMv: number, random: Random): NoiseSpec[] {
  return Array.from({ length: count }, (_, i) => {
    const part = durationSeconds / count;
    const length = random.between(3, 7);
    const fromSeconds = Math.round(random.between(i * part + 6, (i + 1) * part - length - 6));
    const where = { fromSeconds, toSeconds: Math.round(fromSeconds + length) };
    const kind = random.pick(['storm', 'muscle', 'off'] as const);
    if (kind !== 'off') return { ...where, kind, levelMv: rMv * random.between(1.1, 1.6) };
    return { ...where, kind, levelMv: 0, offLooks: random.pick(['flat', 'clipped', 'drifting'] as const) };
  });
}
