import type { Chances } from './figures';
import { crossValidated, folds, shareOfMistakes } from './model';
import { grouped, type Judged, type Place } from './places';

type All = ReadonlyMap<Judged, readonly Place[]>;

/** Other ways to a chance that holds on a recording not seen; each place by a fit without its record. */
export function alternatives(all: All, chances: Chances): Readonly<Record<'ownShare' | 'relative', Chances>> {
  return { ownShare: toOwnShare(all, chances), relative: byRelativeEvidence(all) };
}

/** Minus the logarithm of the chance given to what was so, summed over places: less is better. */
export function logLoss(places: readonly Place[], chances: Chances): number {
  return places.reduce((sum, p) => sum - Math.log(within(p.isMistake ? chances.get(p)! : 1 - chances.get(p)!)), 0);
}

/**
 * Chances corrected to the recording's own share of mistakes, which is taken from them by expectation and maximisation
 * (Saerens, Latinne & Decaestecker, Neural Comput 2002;14:21).
 */
function toOwnShare(all: All, chances: Chances): Chances {
  const out = new Map<Place, number>();
  const everything = [...all.values()].flat();
  for (const [judged, places] of all) {
    const others = everything.filter(p => p.record !== judged.record);
    for (const [about, own] of grouped(places, p => p.about)) {
      const usual = shareOfMistakes(others.filter(p => p.about === about));
      const at = (p: Place, share: number) => {
        const chance = within(chances.get(p)!);
        const odds = ((chance / (1 - chance)) * share * (1 - usual)) / (usual * (1 - share));
        return odds / (1 + odds);
      };
      let share = usual;
      for (let round = 0; round < 200; round++)
        share = within(own.reduce((sum, p) => sum + at(p, share), 0) / own.length);
      for (const p of own) out.set(p, within(at(p, share)));
    }
  }
  return out;
}

const least = 1e-9;
const within = (p: number) => Math.min(1 - least, Math.max(least, p));

/** Each reason's strength less its mean over the places of the recording. */
function byRelativeEvidence(all: All): Chances {
  const of = new Map<Place, Place>();
  for (const places of all.values()) {
    for (const own of grouped(places, p => p.about).values()) {
      const means = new Map<string, number>();
      for (const { strengths } of own)
        for (const [reason, v] of Object.entries(strengths))
          means.set(reason, (means.get(reason) ?? 0) + v / own.length);
      for (const p of own) {
        const all = [...means].map(([reason, mean]) => [reason, (p.strengths[reason as never] ?? 0) - mean]);
        of.set({ ...p, strengths: Object.fromEntries(all) }, p);
      }
    }
  }
  const found = crossValidated([...of.keys()], folds.record);
  return new Map([...found].map(([relative, chance]) => [of.get(relative)!, within(chance)]));
}
