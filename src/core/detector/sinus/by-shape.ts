import { type BeatMeasures, someP } from './measures';
import type { NotSinusReason } from './reason';
import type { SinusTuning } from './tuning';

/** From here on the rhythm is irregular, as in atrial fibrillation; see Timing. */
const irregularFrom = 0.1;
/** A P wave this near its time belongs to the beat. */
const onTime = 0.2;

/** Why a beat's shape is not that of a sinus beat; null where it is, or nothing can be said. */
export function byShape(measures: BeatMeasures, k: number, t: SinusTuning): NotSinusReason | null {
  const { shape, time, familySize, waves } = measures;
  const unlike = shape.unlike[k]!;
  const early = 1 - time.before[k]!;
  if (time.irregular[k]! > irregularFrom) return unlike + t.byEarly * early > t.inIrregular ? 'another shape' : null;
  if (shape.leastTimes[k]! < t.leastTimes) return null;
  if (shape.sinusLike[k] || hasP(measures, k, t)) return isMixed(measures, k, t) ? 'mixed shape' : null;
  const isAlone = familySize[k]! < t.family;
  if (isAlone && waves.leads.length === 1 && early < t.aloneEarly) return null;
  const times = isAlone ? t.aloneTimes : t.kindTimes;
  return unlike > t.anotherKind && shape.times[k]! > times ? 'another shape' : null;
}

function hasP({ p, time, conducted }: BeatMeasures, k: number, t: SinusTuning): boolean {
  if (conducted[k]) return true;
  return p.clear[k]! > t.clear && p.size[k]! > someP && Math.abs(1 - time.before[k]!) < onTime;
}

/** One lead alone cannot tell a fusion beat with its P wave from a change of the axis. */
function isMixed({ shape, waves }: BeatMeasures, k: number, t: SinusTuning): boolean {
  const least = shape.leastTimes[k]!;
  if (!shape.sinusLike[k] && (waves.leads.length === 1 || least < t.leastTimesConducted || least === Infinity))
    return false;
  return shape.unlike[k]! > t.mixedUnlike && shape.times[k]! > t.mixedTimes;
}
