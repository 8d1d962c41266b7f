import type { ColumnMetaData, CompressionCodec, Compressors, FileMetaData, RowGroup } from 'hyparquet';
import type { ByteSource } from '../bytes/source';

type Header = ReturnType<ColumnLibrary['parquetHeader']>;

export interface ColumnLibrary {
  readonly parquetHeader: typeof import('hyparquet/src/column.js').parquetHeader;
  readonly decompressPage: typeof import('hyparquet/src/datapage.js').decompressPage;
  readonly compressors: Compressors;
}

/** Gzip packs at most 1032 to 1 (RFC 1951: 258 bytes for two bits), Snappy less; and a page has some bytes anyway. */
const mostInflation = 1100;
const fewBytes = 65_536;
/** Beyond the rows of its group, in a dictionary or a run; more than enough for any signal. */
const fewMore = 65_536;

interface Chunk {
  readonly bytes: Uint8Array;
  readonly rows: number;
  readonly codec: CompressionCodec;
  readonly isBoolean: boolean;
  /** Cells may be empty, and levels before the values say which are. */
  readonly mayBeEmpty: boolean;
}

/**
 * Throws where a page of one of the plain columns `names` says that it has more values than its group has rows, more bytes
 * than its packed ones can hold, or a run of values longer than that: the library makes room for whatever is promised,
 * and what is beyond an array's limit ends the whole process.
 */
export async function checkPages(
  source: ByteSource,
  { schema }: FileMetaData,
  { columns, num_rows }: RowGroup,
  names: readonly string[],
  library: ColumnLibrary,
): Promise<void> {
  for (const { meta_data } of columns) {
    const name = meta_data?.path_in_schema[0];
    if (!meta_data || name === undefined || !names.includes(name)) continue;
    const { start, end } = rangeOf(meta_data);
    const bytes = (await source.read(start, Math.min(end, source.size))).slice();
    const mayBeEmpty = schema.some((e, i) => i > 0 && e.name === name && e.repetition_type === 'OPTIONAL');
    const { codec, type } = meta_data;
    checkChunk({ bytes, rows: Number(num_rows), codec, isBoolean: type === 'BOOLEAN', mayBeEmpty }, library);
  }
}

/** Pages follow each other until the rows are there, as the library reads them. */
function checkChunk(chunk: Chunk, library: ColumnLibrary): void {
  const { bytes, rows } = chunk;
  const reader = { view: new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), offset: 0 };
  for (let seen = 0; seen < rows && reader.offset < bytes.length - 1; ) {
    const header = library.parquetHeader(reader);
    const packed = header.compressed_page_size;
    if (!(packed >= 0)) throw new Error(`a page of ${packed} bytes`);
    seen += checkSizes(header, rows);
    checkRuns(header, bytes.subarray(reader.offset, reader.offset + packed), chunk, library);
    reader.offset += packed;
  }
}

/** Values of the page: 0 of a dictionary. */
function checkSizes(header: Header, rows: number): number {
  const { compressed_page_size: packed, data_page_header: v1, data_page_header_v2: v2 } = header;
  const unpacked = Number(header.uncompressed_page_size);
  const values = (v1 ?? v2)?.num_values ?? 0;
  const entries = header.dictionary_page_header?.num_values ?? 0;
  if (!(unpacked >= 0 && unpacked <= mostInflation * packed + fewBytes))
    throw new Error(`${packed} bytes said to hold ${unpacked}`);
  if (!(values >= 0 && values <= rows && (v2?.num_nulls ?? 0) >= 0))
    throw new Error(`a page of ${values} values in a group of ${rows} rows`);
  if (!(entries >= 0 && entries <= rows + fewMore)) throw new Error(`a dictionary of ${entries} values`);
  return values;
}

/** Runs are in the levels of columns with empty cells, in places of a dictionary, and in booleans. */
function checkRuns(header: Header, packed: Uint8Array, chunk: Chunk, library: ColumnLibrary): void {
  const { data_page_header: v1, data_page_header_v2: v2 } = header;
  const { codec, isBoolean, mayBeEmpty } = chunk;
  const head = v1 ?? v2;
  if (!head) return;
  const levels = v2 ? v2.repetition_levels_byte_length + v2.definition_levels_byte_length : 0;
  if (v2 && mayBeEmpty) checkRunsOf(packed, v2.repetition_levels_byte_length, 1, v2.num_values);
  const size = Number(header.uncompressed_page_size) - levels;
  const plain = v2 && (v2.is_compressed === false || size === 0);
  const rest = packed.subarray(levels);
  const page = plain ? rest : library.decompressPage(rest, size, codec, library.compressors);
  let at = 0;
  if (v1 && mayBeEmpty) {
    checkRunsOf(page, 4, 1, v1.num_values);
    at = 4 + new DataView(page.buffer, page.byteOffset, page.byteLength).getUint32(0, true);
  }
  if (head.encoding !== 'RLE' && !head.encoding?.endsWith('_DICTIONARY')) return;
  if (isBoolean) checkRunsOf(page, at + 4, 1, head.num_values);
  else checkRunsOf(page, at + 1, page[at] ?? 0, head.num_values);
}

/** RLE and bit-packing hybrid (Parquet format, encodings): runs of `width` bits until there are `values`. */
function checkRunsOf(page: Uint8Array, from: number, width: number, values: number): void {
  let at = from;
  for (let seen = 0; seen < values && at < page.length; ) {
    let length = 0;
    for (let shift = 1; ; shift *= 128) {
      const byte = page[at++] ?? 0;
      length += (byte & 127) * shift;
      if (byte < 128) break;
    }
    const packed = length % 2 === 1;
    const count = packed ? 8 * ((length - 1) / 2) : length / 2;
    if (count > values + fewMore) throw new Error(`a run of ${count} in a page of ${values} values`);
    at += packed ? (count * width) / 8 : Math.ceil(width / 8);
    seen += count;
  }
}

function rangeOf({ dictionary_page_offset, data_page_offset, total_compressed_size }: ColumnMetaData) {
  const start = Number(dictionary_page_offset || data_page_offset);
  return { start, end: start + Number(total_compressed_size) };
}
