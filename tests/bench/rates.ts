// The detector on the open records at other sampling rates than their own. Whatever a constant owes to chance at 360 Hz
// it does not keep at 358: the mean over rates says better than one of them what other records will give, and what a
// logger's rate costs. Stores its figures; takes a few minutes. Not part of `npm run bench`.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { detectBeats } from '../../src/core/detector/detect';
import { countBeats } from './beat-counts';
import { mixture, noiseHalves, noisePresent } from './noise-mixture';
import { openRecording } from './open-recordings';

const folds = [
  ['100', '108', '203', '217'],
  ['105', '119', '208', '222'],
];
const beside = [240, 280, 300, 340, 358, 370];
const ofLoggers = [128, 200, 250, 256, 500, 512, 1000];
const clean = Number.POSITIVE_INFINITY;
const ratiosDb = [clean, 24, 0];

interface Row {
  readonly leads: number;
  readonly snrDb: number | 'clean';
  readonly rateHz: number;
  /** Missed and extra marks in either four records. */
  readonly counts: readonly { readonly missed: number; readonly extra: number }[];
}

/** Words at another rate, by a windowed sinc of 16 lobes whose band ends at 0.475 of the lower rate. */
function resampled(words: ArrayLike<number>, from: number, to: number): Int16Array {
  const narrow = Math.min(1, to / from);
  const cut = 0.95 * narrow;
  const half = 16 / narrow;
  return Int16Array.from({ length: Math.floor((words.length * to) / from) }, (_, i) => {
    const at = (i * from) / to;
    let sum = 0;
    let weight = 0;
    for (let k = Math.max(0, Math.ceil(at - half)); k <= Math.min(words.length - 1, at + half); k++) {
      const d = at - k;
      const sinc = d === 0 ? cut : Math.sin(Math.PI * cut * d) / (Math.PI * d);
      const w = sinc * (0.5 + 0.5 * Math.cos((Math.PI * d) / half));
      sum += w * words[k]!;
      weight += w;
    }
    return Math.round(sum / weight);
  });
}

function rowsOf(leads: 1 | 2, snrDb: number): Row[] {
  const rates = leads === 1 && snrDb === clean ? [...beside, ...ofLoggers] : beside;
  const counts = rates.map(() => folds.map(() => ({ missed: 0, extra: 0 })));
  for (const [fold, names] of folds.entries())
    for (const name of names) {
      const mixed = mixture(openRecording(name), snrDb, noiseHalves[fold]!, leads);
      for (const [r, rateHz] of rates.entries()) {
        const words = mixed.leads.map(lead => resampled(lead, mixed.samplingRateHz, rateHz));
        const beats = Int32Array.from(mixed.beats, at => Math.round((at * rateHz) / mixed.samplingRateHz));
        const { fn, fp } = countBeats(beats, detectBeats(words, rateHz).samples, rateHz);
        const sum = counts[r]![fold]!;
        sum.missed += fn;
        sum.extra += fp;
      }
    }
  return rates.map((rateHz, r) => ({
    leads,
    snrDb: snrDb === clean ? 'clean' : snrDb,
    rateHz,
    counts: counts[r]!,
  }));
}

function said({ leads, snrDb, rateHz, counts }: Row): string {
  return `${leads} ${snrDb} ${rateHz} Hz ${counts.map(c => `${c.missed} + ${c.extra}`).join(', ')}`;
}

function meanOf(rows: readonly Row[]): string {
  const mean = (fold: number, of: 'missed' | 'extra') =>
    (rows.reduce((sum, row) => sum + row.counts[fold]![of], 0) / rows.length).toFixed(1);
  return folds.map((_, fold) => `${mean(fold, 'missed')} + ${mean(fold, 'extra')}`).join(', ');
}

if (noisePresent) {
  const all: Row[] = [];
  for (const leads of [1, 2] as const)
    for (const snrDb of ratiosDb) {
      const rows = rowsOf(leads, snrDb);
      all.push(...rows);
      for (const row of rows) console.log(said(row));
      console.log('mean beside 360 Hz', meanOf(rows.filter(row => beside.includes(row.rateHz))));
    }
  writeFileSync(join(import.meta.dirname, 'rates.json'), `${JSON.stringify(all, null, 1)}\n`);
} else console.log('not run: open recordings absent');
