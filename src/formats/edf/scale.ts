import { piecesOf, stretches } from '../../core/recording/pieces';
import type { Lead, LeadSamples, SampleArray } from '../../core/recording/recording';
import { decimalText } from './layout';

/** How a lead's words become the int16 of the file, and what the header says of them. */
export interface EdfScale {
  readonly unit: 'uV' | 'mV' | 'V';
  readonly physicalMin: string;
  readonly physicalMax: string;
  readonly digitalMin: number;
  readonly digitalMax: number;
  /** Words go in unchanged; else each becomes round((word - offset) * wordsPerUnit). */
  readonly asIs: boolean;
  readonly offset: number;
  readonly wordsPerUnit: number;
  readonly warnings: readonly string[];
}

const scanBlock = 1 << 18;

/** int16 words are kept; wider words are kept when they all fit, else stored at a step of 1, 2 or 5 times a power of ten. */
export async function scaleFor(lead: Lead, samples: LeadSamples): Promise<EdfScale> {
  if (lead.format === 'int16') return keepWords(lead);
  const [low, high] = await range(lead, samples);
  if (lead.format === 'int32' && low >= -32768 && high <= 32767) return keepWords(lead);
  const largestMv = Math.max(Math.abs(low - lead.offset), Math.abs(high - lead.offset)) * Math.abs(lead.mvPerUnit);
  const stepMv = stepFor(largestMv / 32767);
  const unit = stepMv < 1 ? 'uV' : 'mV';
  const edge = 32767 * stepMv * (unit === 'uV' ? 1000 : 1);
  return {
    unit,
    physicalMin: decimalText(-edge, 8),
    physicalMax: decimalText(edge, 8),
    digitalMin: -32767,
    digitalMax: 32767,
    asIs: false,
    offset: lead.offset,
    wordsPerUnit: lead.mvPerUnit / stepMv,
    warnings: [`${lead.name} is stored in steps of ${Number((stepMv * 1000).toPrecision(6))} uV.`],
  };
}

/** The unit is the one in which the range, cut to 8 characters, gives the scale back best. */
function keepWords(lead: Lead): EdfScale {
  const tries = (['mV', 'uV', 'V'] as const).flatMap(unit => {
    const factor = unit === 'mV' ? 1 : unit === 'uV' ? 1000 : 0.001;
    const low = (-32768 - lead.offset) * lead.mvPerUnit * factor;
    const high = (32767 - lead.offset) * lead.mvPerUnit * factor;
    if (Math.max(Math.abs(low), Math.abs(high)) >= 9_999_999) return [];
    const physicalMin = decimalText(low, 8);
    const physicalMax = decimalText(high, 8);
    const error = (Math.abs(Number(physicalMin) - low) + Math.abs(Number(physicalMax) - high)) / Math.abs(high - low);
    return [{ unit, physicalMin, physicalMax, error }];
  });
  const own = tries.find(t => t.unit === lead.fileUnit && t.error < 1e-6);
  const best = own ?? tries.reduce((a, b) => (b.error < a.error ? b : a));
  const warnings = best.error > 1e-5 ? [`${lead.name}: 8 characters cannot say its scale exactly.`] : [];
  const { unit, physicalMin, physicalMax } = best;
  const limits = { digitalMin: -32768, digitalMax: 32767 };
  return { unit, physicalMin, physicalMax, ...limits, asIs: true, offset: 0, wordsPerUnit: 1, warnings };
}

/** The smallest step of 1, 2 or 5 times a power of ten (down to 0.1 nV) that is at least `least` mV. */
function stepFor(least: number): number {
  for (let power = -7; power < 9; power++) {
    for (const digit of [1, 2, 5]) {
      const step = Number(`${digit}e${power}`);
      if (step >= least * (1 - 1e-12)) return step;
    }
  }
  throw new RangeError(`amplitude of ${least * 32767} mV cannot be stored`);
}

async function range(lead: Lead, samples: LeadSamples): Promise<[number, number]> {
  let low = 0;
  let high = 0;
  for (const { start, end, recorded } of stretches(piecesOf(lead), 0, samples.sampleCount, scanBlock)) {
    if (!recorded) continue;
    const words = await samples.read(start, end);
    for (const w of words) {
      if (w < low) low = w;
      if (w > high) high = w;
    }
  }
  return [low, high];
}

/** Puts `words` into `out` from `at` on, scaled and clipped to the digital range. */
export function store(words: SampleArray, scale: EdfScale, out: Int16Array, at: number): void {
  if (scale.asIs) {
    out.set(words, at);
    return;
  }
  for (let i = 0; i < words.length; i++) {
    const value = Math.round((words[i]! - scale.offset) * scale.wordsPerUnit);
    out[at + i] = Math.max(-32767, Math.min(32767, value));
  }
}
