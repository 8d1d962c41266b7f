import type { ApexRow } from '../bench/apex';

/** What snapping and inserting do to the experts' marks, from `tests/bench/apex.json`. */
export function apexTable(text: string): string {
  const rows: ApexRow[] = JSON.parse(text);
  const sum = (of: (r: ApexRow) => number) => rows.reduce((total, r) => total + of(r), 0);
  const all: ApexRow = {
    name: 'all',
    marks: sum(r => r.marks),
    over10: sum(r => r.over10),
    over50: sum(r => r.over50),
    insertedOff: sum(r => r.insertedOff),
    shifted: sum(r => r.shifted),
    back: sum(r => r.back),
    stayed: sum(r => r.stayed),
    insertedOn: sum(r => r.insertedOn),
  };
  const share = (part: number, r: ApexRow) => `${((100 * part) / r.shifted).toFixed(1)} %`;
  const line = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`;
  const head = ['record', 'right marks', 'moved > 10 ms', '> 50 ms', 'inserted > 50 ms off'];
  const more = ['shifted marks back', 'stayed', 'elsewhere', 'inserted on the beat'];
  return [
    line([...head, ...more]),
    line([...head, ...more].map(() => '---')),
    ...[...rows, all].map(r =>
      line([
        ...[r.name, r.marks, r.over10, r.over50, r.insertedOff],
        ...[share(r.back, r), r.stayed, r.shifted - r.back - r.stayed, share(r.insertedOn, r)],
      ]),
    ),
  ].join('\n');
}
