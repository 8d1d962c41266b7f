// Runs the benchmarks named on the command line, or all: prints each figure with its limit beside, and stores them for
// the README; those that are named only with --store, on the machine of the others. Ends with 1 when a limit was exceeded.
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus, totalmem } from 'node:os';
import { join } from 'node:path';
import { appendBench } from './append';
import { boardBench } from './board';
import { detectorBench } from './detector';
import { editBench } from './edit';
import { framesBench } from './frames';
import { gapsBench } from './gaps';
import { importBench } from './import';
import { manyBench } from './many';
import type { Bench, Figure } from './measure';
import { pyramidBench } from './pyramid';
import { replayBench } from './replay';
import { reportBench } from './report';
import { sampleBench } from './sample';
import { scoreBench } from './score';

const benches: readonly Bench[] = [
  framesBench,
  pyramidBench,
  detectorBench,
  manyBench,
  scoreBench,
  sampleBench,
  importBench,
  gapsBench,
  appendBench,
  editBench,
  replayBench,
  boardBench,
  reportBench,
];

const wanted = process.argv.slice(2).filter(word => word !== '--store');
const unknown = wanted.filter(name => !benches.some(b => b.name === name));
if (unknown.length > 0)
  throw new Error(`no such benchmark: ${unknown.join(', ')}; there are ${benches.map(b => b.name)}`);

const results: { name: string; says: string; figures: readonly Figure[] }[] = [];
for (const { name, says, run } of benches) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  console.log(`\n${name}: ${says}`);
  const figures = await run();
  for (const figure of figures) console.log(`  ${lineOf(figure)}`);
  results.push({ name, says, figures });
}

const machine = `${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, ${Math.round(totalmem() / 2 ** 30)} GB, Node ${process.version}`;
console.log(`\n${machine}`);
const path = join(import.meta.dirname, 'last-run.json');
const store = (all: typeof results) => writeFileSync(path, `${JSON.stringify({ machine, results: all }, null, 2)}\n`);
if (wanted.length === 0) store(results);
else if (process.argv.includes('--store')) {
  const last = JSON.parse(readFileSync(path, 'utf8')) as { machine: string; results: typeof results };
  if (last.machine !== machine) throw new Error(`not stored: the other figures are of ${last.machine}`);
  const ofBench = (name: string) => [...results, ...last.results].filter(r => r.name === name).slice(0, 1);
  store(benches.flatMap(b => ofBench(b.name)));
}
process.exitCode = results.some(r => r.figures.some(exceeded)) ? 1 : 0;

function exceeded({ value, limit }: Figure): boolean {
  return limit !== null && !(value <= limit);
}

function lineOf(figure: Figure): string {
  const number = (n: number) => `${n.toFixed(n < 10 ? 2 : 0)} ${figure.unit}`;
  const limit = figure.limit === null ? '' : `(limit ${number(figure.limit)})`;
  return `${figure.of.padEnd(36)}${number(figure.value).padStart(12)}  ${limit}${exceeded(figure) ? ' EXCEEDED' : ''}`;
}
