import { bell, cos } from '../elementary';
import { BeatClass } from './rhythm';

/**
 * One beat as a sum of bell curves after McSharry et al., IEEE Trans Biomed Eng 2003;50:289 (from memory): wave angles
 * -60, -15, 0, 15, 90 degrees, amplitudes 1.2, -5, 30, -7.5, 0.75, widths 0.25, 0.1, 0.1, 0.1, 0.4. The model's height
 * of a wave is amplitude x width^2; a turn of 360 degrees is one second here. The QRS is drawn in to about 100 ms
 * (common practice), and P and T follow the RR interval while the QRS does not.
 */
export interface Wave {
  /** Time of the wave's middle from the beat's, s, at RR 1 s. */
  readonly delaySeconds: number;
  /** Standard deviation, s, at RR 1 s. */
  readonly widthSeconds: number;
  /** Height along the wave's own axis, mV. */
  readonly heightMv: number;
  /** Direction in the frontal plane, degrees (0 towards the left arm, 90 towards the feet). */
  readonly axisDegrees: number;
  /** Delay and width scale with the square root of RR (Bazett's rule for the QT interval). */
  readonly followsRr: boolean;
  readonly name: 'P' | 'Q' | 'R' | 'S' | 'T';
}

/** How one person's heart and body shape the beats. */
export interface BodyShape {
  /** Height of the R wave along its axis, mV. */
  readonly rMv: number;
  readonly rAxisDegrees: number;
  /** Height of P, S and T relative to the model's. */
  readonly pScale: number;
  readonly sScale: number;
  readonly tScale: number;
}

export const plainShape: BodyShape = { rMv: 1.1, rAxisDegrees: 55, pScale: 0.6, sScale: 1, tScale: 1 };

const degree = Math.PI / 180;
const qrsWidth = 0.65;

function wave(name: Wave['name'], angleDegrees: number, amplitude: number, width: number, axisDegrees: number): Wave {
  const scale = name === 'P' || name === 'T' ? 1 : qrsWidth;
  return {
    name,
    delaySeconds: (scale * angleDegrees) / 360,
    widthSeconds: (scale * width) / (2 * Math.PI),
    heightMv: (amplitude * width * width) / 0.3,
    axisDegrees,
    followsRr: scale === 1,
  };
}

/** The waves of each class of beat for one person, indexed by BeatClass. */
export function beatShapes(shape: BodyShape): readonly (readonly Wave[])[] {
  const { rMv, rAxisDegrees } = shape;
  const p = wave('P', -60, 1.2 * shape.pScale * rMv, 0.25, rAxisDegrees);
  const q = wave('Q', -15, -5 * rMv, 0.1, rAxisDegrees - 10);
  const r = wave('R', 0, 30 * rMv, 0.1, rAxisDegrees);
  const s = wave('S', 15, -7.5 * shape.sScale * rMv, 0.1, rAxisDegrees + 10);
  const t = wave('T', 90, 0.75 * shape.tScale * rMv, 0.4, rAxisDegrees - 10);
  const early = { ...p, delaySeconds: -0.13, heightMv: -0.5 * p.heightMv };
  const shapes: Record<BeatClass, readonly Wave[]> = {
    [BeatClass.normal]: [p, q, r, s, t],
    [BeatClass.supraventricular]: [early, q, r, s, t],
    [BeatClass.ventricular]: wideBeat(shape),
  };
  return [shapes[BeatClass.normal], shapes[BeatClass.ventricular], shapes[BeatClass.supraventricular]];
}

/** No P wave, a QRS of about 160 ms, and a T wave against it (common practice for a ventricular beat). */
function wideBeat({ rMv, rAxisDegrees }: BodyShape): readonly Wave[] {
  const axisDegrees = rAxisDegrees + 35;
  const make = (name: Wave['name'], delaySeconds: number, widthSeconds: number, height: number): Wave => ({
    name,
    delaySeconds,
    widthSeconds,
    heightMv: height * rMv,
    axisDegrees,
    followsRr: name === 'T',
  });
  return [make('R', 0, 0.03, 1.7), make('S', 0.09, 0.03, -0.8), make('T', 0.33, 0.07, -0.55)];
}

/** Stretch of a wave's delay and width at an interval of `rrSeconds` before the beat. */
export function stretch(wave: Wave, rrSeconds: number): number {
  return wave.followsRr ? Math.sqrt(Math.min(1.3, Math.max(0.3, rrSeconds))) : 1;
}

/** Gain of a wave in a lead that looks along `leadDegrees`. */
export function projection(wave: Wave, leadDegrees: number): number {
  return cos((wave.axisDegrees - leadDegrees) * degree);
}

/** From the lowest to the highest point of the normal QRS in a lead that looks along `leadDegrees`, mV. */
export function qrsPeakToPeakMv(shape: BodyShape, leadDegrees: number): number {
  const perSecond = 1000;
  const qrs = new Float32Array(0.2 * perSecond);
  for (const wave of beatShapes(shape)[BeatClass.normal]!) {
    if (wave.followsRr) continue;
    const middle = qrs.length / 2 + wave.delaySeconds * perSecond;
    addWave(qrs, middle, wave.widthSeconds * perSecond, wave.heightMv * projection(wave, leadDegrees));
  }
  return Math.max(...qrs) - Math.min(...qrs);
}

/** Adds one wave to a lead: `middle` and `width` in samples, `heightMv` as the lead sees it. */
export function addWave(lead: Float32Array, middle: number, width: number, heightMv: number): void {
  const from = Math.max(0, Math.ceil(middle - 5 * width));
  const to = Math.min(lead.length - 1, Math.floor(middle + 5 * width));
  for (let i = from; i <= to; i++) lead[i]! += heightMv * bell((i - middle) / width);
}
