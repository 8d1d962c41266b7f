import { type ByteSource, fileSource, type ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { readZipDirectory } from '../zip/directory';
import { matMagic, readMat } from './mat';
import { npyMagic, readNpy, readNpz } from './npy';
import { isNpz } from './npz-kind';
import { parquetMagic, readParquet } from './parquet';
import type { ArrayCell, ArrayFile, ArrayTable, ArrayVariable } from './variable';

/**
 * Files of arrays are read as what they are, tables: as text, so that leads, times, units and doubts are found, shown and
 * corrected as in any other table. Variables of the greatest common length are its columns.
 */

/** Text of at most this many bytes is kept. */
const longestText = 2 ** 30;
const rowsPerBlock = 1 << 14;
/** Of one variable; a wider one is no recording. */
const mostColumns = 256;

/** The file as a text table; null when it is no file of arrays. `variables`: names of those to take, else all of one length. */
export async function arraysAsText(
  source: ByteSource,
  control: ReadControl,
  variables?: readonly string[],
): Promise<ByteSource | null> {
  const table = await tableOf(source, control, variables);
  if (table === null) return null;
  const { format, understood, doubts, variables: found } = table;
  const text = fileSource(new File(await textOf(source, table, control), source.name));
  return { ...text, made: { format, understood, doubts, variables: found } };
}

async function tableOf(
  source: ByteSource,
  control: ReadControl,
  wanted?: readonly string[],
): Promise<ArrayTable | null> {
  const begins = String.fromCharCode(...(await source.read(0, 10)));
  if (begins.startsWith(parquetMagic)) return readParquet(source);
  if (begins.startsWith(npyMagic)) return tableFrom(source, await readNpy(source), wanted);
  if (begins.startsWith(matMagic)) return tableFrom(source, await readMat(source, control), wanted);
  if (!begins.startsWith('PK\x03\x04')) return null;
  const entries = await readZipDirectory(source).catch(() => []);
  return isNpz(entries) ? tableFrom(source, await readNpz(source, control), wanted) : null;
}

const rateName = /^(fs|f_s|sr|srate|hz|rate|freq|frequency|sampl(e|ing)_?(rate|freq(uency)?)(_hz)?)$/i;

function tableFrom(source: ByteSource, file: ArrayFile, wanted?: readonly string[]): ArrayTable {
  const { kind, variables, leftOut } = file;
  const named = wanted === undefined ? variables : wanted.map(name => variableCalled(source, file, name));
  const series = named.filter(v => v.rows > 1 && v.columns.length > 0 && v.columns.length <= mostColumns);
  const longest = Math.max(0, ...series.map(v => v.rows));
  const taken = series.filter(v => v.rows === longest);
  if (taken.length === 0) {
    const what = [...named.map(sizeInWords), ...leftOut].join('; ') || 'nothing';
    throw new FormatError(
      source.name,
      kind,
      'its variables',
      `it holds no series of numbers (${what}).`,
      'Save the signal as an array.',
    );
  }
  const others = series.filter(v => v.rows !== longest);
  const rate = rateOf(variables);
  const across = taken.map(v => v.columns.length);
  return {
    format: kind,
    understood: [
      `${kind}: ${taken.map(sizeInWords).join(', ')}, read as a table.`,
      ...(rate ? [`${rate.name} says the sampling rate: ${rate.hz} Hz.`] : []),
    ],
    doubts: [
      ...named
        .filter(v => v.columns.length > mostColumns)
        .map(v => `${sizeInWords(v)} has too many columns and is left out.`),
      ...others.map(v => `${sizeInWords(v)} has another length and is left out.`),
      ...leftOut.map(what => `Left out: ${what}.`),
    ],
    ...(rate ? { samplingRateHz: rate.hz } : {}),
    variables: {
      all: variables.filter(v => v.rows > 1).map(v => ({ name: v.name, length: v.rows })),
      taken: taken.map(v => v.name),
    },
    columns: taken.flatMap(columnNames),
    rowCount: longest,
    async *blocks(control: ReadControl) {
      for (let from = 0; from < longest; from += rowsPerBlock) {
        control.signal?.throwIfAborted();
        const rows: ArrayCell[][] = [];
        for (let r = from; r < Math.min(longest, from + rowsPerBlock); r++) {
          rows.push(taken.flatMap((v, i) => Array.from({ length: across[i]! }, (_, c) => v.value(r, c))));
        }
        yield rows;
      }
    },
  };
}

function variableCalled(source: ByteSource, { kind, variables }: ArrayFile, name: string): ArrayVariable {
  const found = variables.find(v => v.name === name);
  if (found) return found;
  const there = variables.map(v => v.name || '(unnamed)').join(', ') || 'none';
  throw new FormatError(source.name, kind, 'its variables', `there is no ${name}.`, `There are: ${there}.`);
}

/** A number alone whose name is that of a rate. */
function rateOf(variables: readonly ArrayVariable[]): { name: string; hz: number } | null {
  for (const v of variables) {
    if (v.rows !== 1 || v.columns.length !== 1 || !rateName.test(v.name.slice(v.name.lastIndexOf('.') + 1))) continue;
    const hz = Number(v.value(0, 0));
    if (hz > 0 && hz <= 1e6) return { name: v.name, hz };
  }
  return null;
}

const sizeInWords = ({ name, rows, columns, type }: ArrayVariable) =>
  `${name === '' ? 'an array' : name} (${rows} x ${columns.length} ${type})`;

function columnNames({ name, columns }: ArrayVariable): string[] {
  if (columns.length === 1) return [columns[0] || name];
  const own = new Set(columns).size === columns.length;
  return columns.map((column, i) => (own && column !== '' ? column : name === '' ? '' : `${name} ${i + 1}`));
}

async function textOf(source: ByteSource, table: ArrayTable, control: ReadControl): Promise<BlobPart[]> {
  const { columns, samplingRateHz, rowCount } = table;
  const encoder = new TextEncoder();
  const named = columns.some(c => c !== '');
  const head = [
    ...(samplingRateHz === undefined ? [] : [`# sampling rate: ${samplingRateHz} Hz`]),
    ...(named ? [columns.map((c, i) => wordCell(c || `column ${i + 1}`)).join('\t')] : []),
  ];
  const parts: BlobPart[] = [encoder.encode(head.map(line => `${line}\n`).join(''))];
  let bytes = 0;
  let done = 0;
  for await (const rows of table.blocks(control)) {
    const block = encoder.encode(rows.map(row => `${row.map(cellText).join('\t')}\n`).join(''));
    bytes += block.length;
    done += rows.length;
    if (bytes > longestText)
      throw new FormatError(
        source.name,
        table.format,
        `row ${done}`,
        'it is too long to be held.',
        'Save it as EDF+, or in parts.',
      );
    parts.push(block);
    control.onProgress?.(Math.floor((source.size * done) / Math.max(1, rowCount)), source.size);
  }
  return parts;
}

/** A value that is no number has an empty cell, which is read as nothing recorded. */
function cellText(cell: ArrayCell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : '';
  return typeof cell === 'string' ? wordCell(cell) : String(cell);
}

/** A word without what separates cells and rows, or would be taken for quotes and comments. */
const wordCell = (text: string) =>
  text
    .replace(/[\t\r\n"]/g, ' ')
    .replace(/^[#%/]+/, '')
    .trim();
