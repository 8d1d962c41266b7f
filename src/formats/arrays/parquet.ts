import type { FileMetaData, SchemaElement } from 'hyparquet';
import { createInflater } from '../bytes/inflate';
import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { joinBytes } from '../zip/writer';
import { checkPages } from './parquet-pages';
import { checkSnappy } from './snappy';
import type { ArrayCell, ArrayTable } from './variable';

/** Apache Parquet tables, read only; the library that reads them is fetched when the first one is met. */
export const parquetMagic = 'PAR1';

/** Rows times columns; what is more would not fit in memory as text. */
const mostCells = 2e8;
/** Cells for a byte of the file, from a million on: signals are not packed as tightly, damage and tricks are. */
const mostCellsPerByte = 200;
const read = ['UNCOMPRESSED', 'SNAPPY', 'GZIP'];

export async function readParquet(source: ByteSource): Promise<ArrayTable> {
  const [library, { parquetHeader }, { decompressPage }, { snappyUncompress }] = await Promise.all([
    import('hyparquet'),
    import('hyparquet/src/column.js'),
    import('hyparquet/src/datapage.js'),
    import('hyparquet/src/snappy.js'),
  ]);
  const file = {
    byteLength: source.size,
    slice: async (start: number, end = source.size) => (await source.read(start, end)).slice().buffer as ArrayBuffer,
  };
  const metadata = await tried(source, 'its footer', () => library.parquetMetadataAsync(file));
  const { columns, leftOut } = columnsOf(metadata);
  const rowCount = Number(metadata.num_rows);
  check(source, metadata, rowCount, columns.length);
  const names = columns.map(c => c.name);
  const compressors = {
    GZIP: gunzipped,
    SNAPPY(input: Uint8Array, outputLength: number) {
      checkSnappy(input, outputLength);
      const output = new Uint8Array(outputLength);
      snappyUncompress(input, output);
      return output;
    },
  };
  return {
    format: 'Parquet',
    understood: [`A Parquet table of ${rowCount} rows and ${names.length} columns.`],
    doubts: leftOut.map(what => `Left out: ${what}.`),
    variables: { all: [], taken: [] },
    columns: names,
    rowCount,
    async *blocks(control: ReadControl) {
      let from = 0;
      for (const group of metadata.row_groups) {
        control.signal?.throwIfAborted();
        const to = from + Number(group.num_rows);
        let rows: unknown[][] = [];
        await tried(source, `rows ${from} to ${to}`, async () => {
          await checkPages(source, metadata, group, names, { parquetHeader, decompressPage, compressors });
          await library.parquetRead({
            file,
            metadata,
            columns: names,
            rowStart: from,
            rowEnd: to,
            compressors,
            parsers: wallTimes,
            onComplete: all => {
              rows = all;
            },
          });
        });
        if (rows.length !== to - from) throw damaged(source, `rows ${from} to ${to}`, `${rows.length} rows are there.`);
        yield rows.map(row => columns.map((column, c) => cellOf(row[c], column)));
        from = to;
      }
    },
  };
}

interface Column {
  readonly name: string;
  /** Its times count in UTC. */
  readonly utc: boolean;
}

/** Columns of plain values; lists and structures are left out. */
function columnsOf({ schema }: FileMetaData): { columns: Column[]; leftOut: string[] } {
  const columns: Column[] = [];
  const leftOut: string[] = [];
  for (let i = 1; i < schema.length; ) {
    const element = schema[i]!;
    const size = sizeOf(schema, i);
    if (size === 1 && element.repetition_type !== 'REPEATED') columns.push({ name: element.name, utc: isUtc(element) });
    else leftOut.push(`${element.name}, which is a list or a structure`);
    i += size;
  }
  return { columns, leftOut };
}

/** Elements of a subtree. */
function sizeOf(schema: readonly SchemaElement[], at: number): number {
  let end = at + 1;
  const children = Math.min(schema[at]?.num_children ?? 0, schema.length);
  for (let c = 0; c < children && end < schema.length; c++) end += sizeOf(schema, end);
  return end - at;
}

function isUtc({ logical_type, converted_type }: SchemaElement): boolean {
  if (logical_type?.type === 'TIMESTAMP') return logical_type.isAdjustedToUTC;
  return converted_type?.startsWith('TIMESTAMP') ?? false;
}

function check(source: ByteSource, { row_groups }: FileMetaData, rows: number, columns: number): void {
  if (!(rows >= 0) || row_groups.reduce((n, g) => n + Number(g.num_rows), 0) !== rows)
    throw damaged(source, 'its footer', 'its groups of rows do not add up.');
  if (columns === 0) throw damaged(source, 'its schema', 'it has no column of plain values.', 'Save one value a cell.');
  if (rows * columns > Math.min(mostCells, Math.max(1e6, mostCellsPerByte * source.size)))
    throw damaged(
      source,
      'its footer',
      `it has ${rows} rows of ${columns} columns.`,
      'Save fewer columns, or in parts.',
    );
  const codec = row_groups
    .flatMap(g => g.columns.map(c => c.meta_data?.codec ?? 'UNCOMPRESSED'))
    .find(c => !read.includes(c));
  if (codec !== undefined)
    throw damaged(
      source,
      'its footer',
      `it is compressed with ${codec}.`,
      'Save it with Snappy, gzip or uncompressed.',
    );
}

/** Times as text, which keeps micro- and nanoseconds. */
const wallTimes = {
  timestampFromMilliseconds: (ms: bigint) => wallTime(ms, 1000n, 3),
  timestampFromMicroseconds: (us: bigint) => wallTime(us, 1_000_000n, 6),
  timestampFromNanoseconds: (ns: bigint) => wallTime(ns, 1_000_000_000n, 9),
  dateFromDays: (days: number) => wallTime(BigInt(days) * 86_400n, 1n, 0).slice(0, 10),
};

function wallTime(count: bigint, perSecond: bigint, digits: number): string {
  const rest = ((count % perSecond) + perSecond) % perSecond;
  const seconds = Number((count - rest) / perSecond);
  const whole = new Date(seconds * 1000).toISOString().slice(0, 19);
  return digits === 0 ? whole : `${whole}.${String(rest).padStart(digits, '0')}`;
}

function cellOf(value: unknown, { utc }: Column): ArrayCell {
  if (value === null || value === undefined) return null;
  if (typeof value === 'number' || typeof value === 'bigint') return value;
  if (typeof value === 'boolean') return value ? 1 : 0;
  if (typeof value === 'string') return utc && /^\d{4}-\d\d-\d\dT/.test(value) ? `${value}Z` : value;
  return null;
}

function gunzipped(input: Uint8Array, outputLength: number): Uint8Array {
  const { out, problem } = createInflater(false).push(input, true);
  const bytes = joinBytes(out.map(part => part.slice()));
  if (problem || bytes.length !== outputLength) throw new Error(problem ?? 'another length than promised');
  return bytes;
}

/** Whatever the library says is wrong, with file and place. */
async function tried<T>(source: ByteSource, place: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw damaged(source, place, `it cannot be read (${(error as Error).message}).`);
  }
}

function damaged(source: ByteSource, place: string, problem: string, remedy = 'Copy or save it again.'): FormatError {
  return new FormatError(source.name, 'Parquet', place, problem, remedy);
}
