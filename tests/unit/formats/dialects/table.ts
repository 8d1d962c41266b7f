import { type Dialect, type Outcome, readMarksDialect, readSegmentsDialect, readSignalDialect } from './dialect';
import { markDialects, segmentDialects } from './lists';
import { signalDialects } from './signals';

export const dialectsBegin = '<!-- dialects: npm run dialects -->';
export const dialectsEnd = '<!-- end of dialects -->';

const cell = (text: string) => text.replaceAll('|', '\\|').replaceAll('\u202f', ' ');

function row(kind: string, { name }: Dialect, { understood, doubts }: Outcome): string {
  return `| ${kind} | ${cell(name)} | ${cell(understood)} | ${doubts.length === 0 ? 'nothing' : cell(doubts.join(' '))} |`;
}

/** Every dialect tried, what was understood of it and what is asked, as the readers say it. */
export async function dialectTable(): Promise<string> {
  const rows: string[] = [];
  for (const d of signalDialects) rows.push(row('signal', d, (await readSignalDialect(d)).outcome));
  for (const d of markDialects) rows.push(row('marks', d, (await readMarksDialect(d)).outcome));
  for (const d of segmentDialects) rows.push(row('segments', d, (await readSegmentsDialect(d)).outcome));
  return [
    dialectsBegin,
    '',
    `${rows.length} dialects; the values read are the values written in each (\`tests/unit/formats/dialects\`).`,
    '',
    '| kind | dialect | understood | doubtful, asked or left out |',
    '| --- | --- | --- | --- |',
    ...rows,
    '',
    dialectsEnd,
  ].join('\n');
}
