import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { figuresOf } from './calibration/all-figures';
import { fitModel, modelSource, unlistedShare } from './calibration/model';
import { type Judged, judgedOpen, type Place, placesOf } from './calibration/places';
import { judgedSamples } from './calibration/samples';
import { openRecordings, openRecordingsPresent } from './open-recordings';

/**
 * How the chance of a mistake that the queue gives each place holds: on mistakes that a plain detector really made on
 * the open recordings (both leads), beside planted ones and those of the sample sessions. Each record is predicted by a
 * fit that has not seen it. With --write the figures are stored and the fit over all of them becomes the page's; with
 * --figures they are stored alone.
 */
const root = join(import.meta.dirname, '../..');

async function gather(): Promise<Map<Judged, Place[]>> {
  const out = new Map<Judged, Place[]>();
  const add = (judged: Judged) => out.set(judged, placesOf(judged));
  for (const name of openRecordings)
    for (const s of ['real', 'second lead', 'planted'] as const) add(judgedOpen(name, s));
  for (const volunteer of ['V01', 'V02', 'V03', 'V04'])
    for (const judged of await judgedSamples(volunteer)) add(judged);
  return out;
}

async function run(): Promise<void> {
  const all = await gather();
  const places = [...all.values()].flat();
  const stored = figuresOf(all);
  const asked = (option: string) => process.argv.includes(option);
  if (!asked('--write') && !asked('--figures')) return;
  writeFileSync(join(import.meta.dirname, 'calibration.json'), `${JSON.stringify(stored, null, 2)}\n`);
  if (!asked('--write')) return;
  const alone = [...all.keys()].flatMap(judged => placesOf(judged, judged.alone));
  const fitted = (of: readonly Place[]) => ({ mark: fitModel(of, 'mark'), gap: fitModel(of, 'gap') });
  const source = modelSource(fitted(places), fitted(alone), unlistedShare(all, null));
  writeFileSync(join(root, 'src/core/detector/suspicion/model.ts'), source);
}

if (openRecordingsPresent) await run();
else console.log('not run: open recordings absent');
