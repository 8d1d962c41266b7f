import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { keysOf, type SegmentKeys, ways } from './keys/reviewers';

/**
 * Keys that scripted reviewers, who know the truth, press on the sample sessions with the page's own commands, beside
 * the bound: one key a page, one a mistake, two an unreadable span. By the page's places, the way of working that the
 * guide teaches, no segment may take more than `limit` times the bound, nor keep a mistake.
 */
const recorders = ['chest-band', 'adhesive-logger'];
const volunteers = ['V01', 'V02', 'V03', 'V04'];
const limit = 2;
const taught = 'by places of the page';
const stored = join(import.meta.dirname, 'keys.json');

interface Row extends SegmentKeys {
  readonly way: string;
  readonly volunteer: string;
  readonly recorder: string;
}

const wanted = process.argv.slice(2).filter(a => !a.startsWith('--'));
const only = process.argv.find(a => a.startsWith('--way='))?.slice(6);
const onlyRecorder = process.argv.find(a => a.startsWith('--recorder='))?.slice(11);
const rows: Row[] = [];
for (const volunteer of wanted.length > 0 ? wanted : volunteers) {
  for (const recorder of recorders.filter(r => !onlyRecorder || r === onlyRecorder)) {
    for (const way of ways.filter(w => !only || w.name.startsWith(only))) {
      for (const row of await keysOf(volunteer, recorder, way)) {
        rows.push({ way: way.name, volunteer, recorder, ...row });
        console.log(lineOf(rows.at(-1)!));
      }
    }
  }
}
for (const way of ways.filter(w => rows.some(r => r.way === w.name))) {
  const own = rows.filter(r => r.way === way.name);
  const sum = (pick: (r: Row) => number) => own.reduce((n, r) => n + pick(r), 0);
  const worst = Math.max(...own.map(r => r.total / r.bound));
  console.log(
    `${way.name}: ${sum(r => r.total)} keys, ${(sum(r => r.total) / sum(r => r.bound)).toFixed(2)} times the bound; worst segment ${worst.toFixed(2)}; ${sum(r => r.left)} mistakes left`,
  );
}
const over = rows.filter(r => r.way === taught && (r.total > limit * r.bound || r.left > 0 || !r.covered));
for (const r of over) console.error(`over the limit: ${lineOf(r)}`);
if (over.length > 0) process.exitCode = 1;
if (process.argv.includes('--store')) store();

/** Rows measured now take the place of those stored before. */
function store(): void {
  const before: Row[] = existsSync(stored) ? JSON.parse(readFileSync(stored, 'utf8')) : [];
  const same = (a: Row, b: Row) => (['way', 'volunteer', 'recorder', 'segment'] as const).every(k => a[k] === b[k]);
  const all = before.map(b => rows.find(r => same(r, b)) ?? b);
  all.push(...rows.filter(r => !before.some(b => same(r, b))));
  writeFileSync(stored, `${JSON.stringify(all, null, 2)}\n`);
}

function lineOf(r: Row): string {
  const kinds = Object.entries(r.keys).map(([k, n]) => `${k} ${n}`);
  const ratio = (r.total / r.bound).toFixed(1);
  const flaws = `${r.left > 0 ? `, ${r.left} left` : ''}${r.covered ? '' : ', not covered'}`;
  return `${r.volunteer} ${r.recorder.padEnd(15)} ${r.way.padEnd(20)} ${r.segment.padEnd(20)} ${r.total} keys, bound ${r.bound}, ${ratio} x (${kinds.join(', ')})${flaws}`;
}
