import { exp } from '../core/elementary';
import { normalise } from '../core/marks/spans';
import type { Random } from '../core/random';
import type { Segment } from '../core/recording/recording';
import type { NoiseSpec } from '../core/simulate/noise';
import type { Span } from '../core/units';
import { span } from '../core/units';
import { activities, type Disturbance, type RecorderName } from './activities';

/** The body before the recorder: height of its R wave, and the QRS complex in the recorder's first lead, in mV. */
interface Heights {
  readonly rMv: number;
  readonly qrsMv: number;
}

/**
 * Noise of one recording, activity by activity: electrode motion all through it, louder in some stretches, and what else
 * disturbs it over that. Stretches that hide the beats keep 5 s from each other and the edges.
 */
export function drawNoise(
  name: RecorderName,
  segments: readonly Segment[],
  rateHz: number,
  { rMv, qrsMv }: Heights,
  gaps: readonly Span[],
  random: Random,
): NoiseSpec[] {
  const hiding: Span[] = gaps.map(g => span(g.start - 5 * rateHz, g.end + 5 * rateHz));
  const steps: NoiseSpec[] = [];
  const over: NoiseSpec[] = gaps.map(g => ({ ...during(g, rateHz), kind: 'off', levelMv: 0, offLooks: 'flat' }));
  for (const [i, segment] of segments.entries()) {
    const { disturbances, motionDb } = activities[i]!;
    const motionMv = (qrsMv / Math.sqrt(8)) * exp((-motionDb[name] * Math.LN10) / 20);
    const louder: NoiseSpec[] = [];
    for (const d of disturbances[name].flatMap(of => Array.from({ length: of.count }, () => of))) {
      const where = place(d, segment, rateHz, hiding, random);
      const spec = where && specOf(d, where, rateHz, d.kind === 'steps' ? motionMv : rMv, random);
      if (spec) (d.kind === 'steps' ? louder : over).push(spec);
    }
    steps.push({ ...during(withWay(segment, rateHz), rateHz), kind: 'steps', levelMv: motionMv, louder });
  }
  return [...steps, ...over];
}

/** The activity with what is moved before and after it. */
function withWay({ start, end }: Segment, rateHz: number): Span {
  return span(Math.max(0, start - 10 * rateHz), end + 5 * rateHz);
}

function place(d: Disturbance, segment: Segment, rateHz: number, hiding: Span[], random: Random): Span | null {
  const length = Math.round(random.between(...d.seconds) * rateHz);
  const margin = Math.round(Math.min(6 * rateHz, (segment.end - segment.start - length) / 2));
  for (let attempt = 0; attempt < 20; attempt++) {
    const start = Math.round(random.between(segment.start + margin, segment.end - margin - length));
    const where = span(start, start + length);
    if (d.kind !== 'storm' && d.kind !== 'off') return where;
    const wide = span(where.start - 5 * rateHz, where.end + 5 * rateHz);
    const crowded = normalise([...hiding, wide]).length !== normalise(hiding).length + 1;
    if (crowded) continue;
    hiding.push(wide);
    return where;
  }
  return null;
}

function specOf(d: Disturbance, where: Span, rateHz: number, unitMv: number, random: Random): NoiseSpec {
  const levelMv = unitMv * random.between(...d.level);
  const looks = random.pick(['flat', 'clipped', 'drifting'] as const);
  return { ...during(where, rateHz), kind: d.kind, levelMv, ...(d.kind === 'off' ? { offLooks: looks } : {}) };
}

function during(where: Span, rateHz: number): { fromSeconds: number; toSeconds: number } {
  return { fromSeconds: where.start / rateHz, toSeconds: where.end / rateHz };
}
