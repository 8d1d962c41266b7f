import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { worthALook } from '../../src/core/review/places/queue';
import { found, looksPerMistake, rangesHeld, reliability, suggestions } from './calibration/figures';
import { crossValidated, fitModel, modelSource } from './calibration/model';
import { type Judged, judgedOpen, type Place, placesOf } from './calibration/places';
import { judgedSamples } from './calibration/samples';
import { openRecordings, openRecordingsPresent } from './open-recordings';

/**
 * How the chance of a mistake that the queue gives each place holds: on mistakes that a plain detector really made on
 * the open recordings (both leads), beside planted ones and those of the sample sessions. Each record is predicted by a
 * fit that has not seen it. With --write the fit over all of them becomes the page's.
 */
const root = join(import.meta.dirname, '../..');
const sources = ['real', 'second lead', 'planted', 'samples'] as const;

async function gather(): Promise<Map<Judged, Place[]>> {
  const out = new Map<Judged, Place[]>();
  const add = (judged: Judged) => out.set(judged, placesOf(judged));
  for (const name of openRecordings)
    for (const s of ['real', 'second lead', 'planted'] as const) add(judgedOpen(name, s));
  for (const volunteer of ['V01', 'V02', 'V03', 'V04'])
    for (const judged of await judgedSamples(volunteer)) add(judged);
  return out;
}

const percent = (n: number, of: number) => (of === 0 ? '-' : `${((100 * n) / of).toFixed(1)} %`);

async function run(): Promise<void> {
  const all = await gather();
  const places = [...all.values()].flat();
  const chances = crossValidated(places);
  const stored = sources.map(source => {
    const own = [...all].filter(([judged]) => judged.source === source);
    const rows = reliability(
      chances,
      own.flatMap(([, p]) => p),
    );
    console.log(`\n${source}: chance of a mistake and share that were, by places of about the same chance`);
    for (const r of rows)
      console.log(
        `  ${r.from} to ${r.to}: ${r.places} places, ${r.predicted.toFixed(3)} said, ${r.observed.toFixed(3)} were`,
      );
    const sums = { stretches: 0, held: 0, looked: 0, found: 0, made: 0, right: 0 };
    const kinds = new Map<string, { mistakes: number; listed: number; aboveLine: number; top5: number }>();
    for (const [judged, of] of own) {
      const ranked = [...of].sort((a, b) => chances.get(b)! - chances.get(a)!);
      const looks = looksPerMistake(judged, ranked);
      const add = (part: Partial<typeof sums>) => {
        for (const [k, v] of Object.entries(part)) sums[k as keyof typeof sums] += v;
      };
      add(rangesHeld(judged, of, chances));
      add(looks);
      add(suggestions(judged, of));
      for (const { kind, ...row } of found(judged, ranked, chances, worthALook)) {
        const sum = kinds.get(kind) ?? { mistakes: 0, listed: 0, aboveLine: 0, top5: 0 };
        for (const k of ['mistakes', 'listed', 'aboveLine', 'top5'] as const) sum[k] += row[k];
        kinds.set(kind, sum);
      }
      const above = ranked.filter(p => chances.get(p)! >= worthALook).length;
      console.log(
        `  ${judged.record}: ${judged.mistakes.length} mistakes, ${of.length} places, ${above} above the line, ${looks.looked} looked at for ${looks.found} found`,
      );
    }
    for (const [kind, k] of kinds)
      console.log(
        `  ${kind}: ${k.mistakes}, in the queue ${percent(k.listed, k.mistakes)}, above the line ${percent(k.aboveLine, k.mistakes)}, in the top 5 % of beats ${percent(k.top5, k.mistakes)}`,
      );
    console.log(
      `  number of mistakes within its range: ${sums.held} of ${sums.stretches} stretches; places looked at per mistake until 95 %: ${(sums.looked / sums.found).toFixed(2)}; suggestions right: ${percent(sums.right, sums.made)} of ${sums.made}`,
    );
    return { source, reliability: rows, kinds: Object.fromEntries(kinds), ...sums };
  });
  if (!process.argv.includes('--write')) return;
  writeFileSync(join(import.meta.dirname, 'calibration.json'), `${JSON.stringify(stored, null, 2)}\n`);
  const alone = [...all.keys()].flatMap(judged => placesOf(judged, judged.alone));
  const fitted = (of: readonly Place[]) => ({ mark: fitModel(of, 'mark'), gap: fitModel(of, 'gap') });
  const source = modelSource(fitted(places), fitted(alone));
  writeFileSync(join(root, 'src/core/detector/suspicion/model.ts'), source);
}

if (openRecordingsPresent) await run();
else console.log('not run: open recordings absent');
