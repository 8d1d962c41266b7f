import { describe, expect, test } from 'vitest';
import { type ColumnLibrary, checkPages } from '../../../../src/formats/arrays/parquet-pages';
import { bytesSource } from '../../../../src/formats/bytes/source';

/** One column of 400 rows whose only page is `bytes`, and what its header says. */
async function check(bytes: readonly number[], says: object, header: object, optional = false): Promise<void> {
  const page = Uint8Array.from([...bytes, 0]);
  const column = {
    codec: 'UNCOMPRESSED',
    type: 'DOUBLE',
    path_in_schema: ['ecg'],
    data_page_offset: 0n,
    total_compressed_size: BigInt(page.length),
  };
  const sizes = { compressed_page_size: bytes.length, uncompressed_page_size: bytes.length };
  const schema = [{ name: 'schema' }, { name: 'ecg', repetition_type: optional ? 'OPTIONAL' : 'REQUIRED' }];
  const library = {
    parquetHeader: () => ({ ...sizes, ...header, data_page_header: { num_values: 400, encoding: 'PLAIN', ...says } }),
    decompressPage: (packed: Uint8Array) => packed,
    compressors: {},
  };
  const group = { columns: [{ meta_data: column }], num_rows: 400n };
  await checkPages(
    bytesSource('x.parquet', page),
    { schema } as unknown as Parameters<typeof checkPages>[1],
    group as unknown as Parameters<typeof checkPages>[2],
    ['ecg'],
    library as unknown as ColumnLibrary,
  );
}

/** Unsigned LEB128, as the format writes lengths of runs. */
const varint = (n: number): number[] => (n < 128 ? [n] : [128 + (n % 128), ...varint(Math.floor(n / 128))]);
const dictionary = { encoding: 'RLE_DICTIONARY' };

// source: Apache Parquet format, encodings: a run is its length times 2 and a value; bit-packed is odd and counts in eights
describe('pages of a Parquet table', () => {
  test('that hold what they promise are read', async () => {
    await expect(check([1, ...varint(800), 1], dictionary, {})).resolves.toBeUndefined();
    await expect(check([1, ...varint(2 * 50 + 1), ...Array(50).fill(7)], dictionary, {})).resolves.toBeUndefined();
    await expect(check([3, 0, 0, 0, ...varint(800), 1, 9], {}, {}, true)).resolves.toBeUndefined();
  });

  test.each([
    ['a run', [1, ...varint(2 * 195_586_310), 1], dictionary, {}, 'a run of 195586310'],
    ['bit-packed values', [0, ...varint(2 * 2 ** 28 + 1), 1], dictionary, {}, 'a run of 2147483648'],
    ['values', [1, 2, 3], { num_values: 2 ** 30 }, {}, 'a page of 1073741824 values in a group of 400 rows'],
    ['bytes', [1, 2, 3], {}, { uncompressed_page_size: 2 ** 31 - 1 }, '3 bytes said to hold 2147483647'],
    ['packed bytes', [1, 2, 3], {}, { compressed_page_size: -5 }, 'a page of -5 bytes'],
    ['entries', [1, 2, 3], {}, { dictionary_page_header: { num_values: 2 ** 30 } }, 'a dictionary of 1073741824'],
  ])('that promise more %s than they can hold are refused', async (_what, bytes, says, header, why) => {
    await expect(check(bytes, says, header)).rejects.toThrow(why);
  });

  test('levels that say which cells are empty are held to the same', async () => {
    const bytes = [9, 0, 0, 0, ...varint(2 * 10 ** 9), 1];
    await expect(check(bytes, {}, {}, true)).rejects.toThrow('a run of 1000000000');
  });
});
