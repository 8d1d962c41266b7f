import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { apexToInsert, apexToSnap } from '../../src/core/detector/nearest-apex';
import { between } from '../../src/core/marks/markset';
import { openRecording, openRecordings, openRecordingsPresent } from './open-recordings';

/**
 * What snapping and inserting do to expert marks of the open recordings: right marks are snapped (none may move by more
 * than 10 ms), inserted where they stand (none may land more than 50 ms away), and marks put 60 to 110 ms beside their
 * beat are snapped back. Writes apex.json beside it, from which tests/bench/README.md is made.
 */
const aroundS = 20;
const shiftsMs = [-110, -80, -60, 60, 80, 110];

export interface ApexRow {
  readonly name: string;
  readonly marks: number;
  /** Right marks that a snap moves by more than 10 and by more than 50 ms. */
  readonly over10: number;
  readonly over50: number;
  /** Right places that an insertion leaves by more than 50 ms. */
  readonly insertedOff: number;
  readonly shifted: number;
  /** Of the shifted marks: back within 50 ms of the beat, left where they were, further away than 50 ms. */
  readonly back: number;
  readonly stayed: number;
  /** Insertions from the shifted places that come within 50 ms of the beat. */
  readonly insertedOn: number;
}

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

export function apexRow(name: string, every = 1): ApexRow {
  const { words, beats, samplingRateHz: hz } = openRecording(name);
  const row: Mutable<ApexRow> = {
    name,
    marks: 0,
    over10: 0,
    over50: 0,
    insertedOff: 0,
    shifted: 0,
    back: 0,
    stayed: 0,
    insertedOn: 0,
  };
  for (let k = 0; k < beats.length; k += every) {
    const at = beats[k]!;
    const start = Math.max(0, at - aroundS * hz);
    const stretch = words.subarray(start, at + aroundS * hz);
    const others = between(beats, start, at + aroundS * hz)
      .filter(b => b !== at)
      .map(b => b - start);
    const ms = (a: number, b: number) => Math.abs(((a - b) * 1000) / hz);
    const snapped = (from: number) => apexToSnap(stretch, from - start, others, hz) + start;
    const inserted = (from: number) => apexToInsert(stretch, from - start, others, hz) + start;
    row.marks++;
    if (ms(snapped(at), at) > 10) row.over10++;
    if (ms(snapped(at), at) > 50) row.over50++;
    if (ms(inserted(at), at) > 50) row.insertedOff++;
    const from = at + Math.round((shiftsMs[k % shiftsMs.length]! * hz) / 1000);
    const to = snapped(from);
    row.shifted++;
    if (ms(to, at) <= 50) row.back++;
    else if (ms(to, from) <= 10) row.stayed++;
    if (ms(inserted(from), at) <= 50) row.insertedOn++;
  }
  return row;
}

if (process.argv[1]?.endsWith('apex.ts')) {
  if (openRecordingsPresent) {
    console.log(
      'record  right marks  moved > 10 ms  > 50 ms  inserted > 50 ms off   shifted marks  back on the beat  stayed  elsewhere  inserted on the beat',
    );
    const path = join(import.meta.dirname, 'apex.json');
    const wanted = process.argv.slice(2);
    for (const name of wanted.length > 0 ? wanted : openRecordings) {
      const r = apexRow(name);
      console.log(
        `${name}  ${r.marks}  ${r.over10}  ${r.over50}  ${r.insertedOff}   ${r.shifted}  ${((100 * r.back) / r.shifted).toFixed(1)} %  ${r.stayed}  ${r.shifted - r.back - r.stayed}  ${((100 * r.insertedOn) / r.shifted).toFixed(1)} %`,
      );
      const others = (existsSync(path) ? (JSON.parse(readFileSync(path, 'utf8')) as ApexRow[]) : []).filter(
        o => o.name !== name,
      );
      const rows = [...others, r].sort((x, y) => x.name.localeCompare(y.name));
      writeFileSync(path, `${JSON.stringify(rows, null, 1)}\n`);
    }
  } else console.log('not run: open recordings absent');
}
