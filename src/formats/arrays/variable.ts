import type { ReadControl, SeriesChoice } from '../bytes/source';

/** One named array of numbers in a file of arrays: samples in rows, leads in columns. */
export interface ArrayVariable {
  /** As the file calls it; '' where it has no name. */
  readonly name: string;
  readonly rows: number;
  /** Names of the columns; '' for one that has none. */
  readonly columns: readonly string[];
  /** What its values are, e.g. 'float64'. */
  readonly type: string;
  /** Null where there is no value. */
  value(row: number, column: number): ArrayCell;
}

/** What a file of arrays holds. */
export interface ArrayFile {
  /** In words, e.g. 'NumPy array'. */
  readonly kind: string;
  readonly variables: readonly ArrayVariable[];
  /** Variables that are not numbers, with what they are. */
  readonly leftOut: readonly string[];
}

/** Null where there is no value; a text where it is a time or a word. */
export type ArrayCell = number | bigint | string | null;

/** Columns of one length, row by row. */
export interface ArrayTable {
  /** For the record, e.g. 'MAT-file'. */
  readonly format: string;
  readonly understood: readonly string[];
  readonly doubts: readonly string[];
  readonly variables: SeriesChoice;
  /** Where the file says it. */
  readonly samplingRateHz?: number;
  /** '' for a column without a name. */
  readonly columns: readonly string[];
  readonly rowCount: number;
  blocks(control: ReadControl): AsyncGenerator<ArrayCell[][]>;
}

/** A file of arrays is held in memory, where its format allows no other way. */
export const largestArrayBytes = 2 ** 30;

export const numberTypes = {
  i1: { bytes: 1, type: 'int8', read: (v: DataView, at: number) => v.getInt8(at) },
  u1: { bytes: 1, type: 'uint8', read: (v: DataView, at: number) => v.getUint8(at) },
  i2: { bytes: 2, type: 'int16', read: (v: DataView, at: number, le: boolean) => v.getInt16(at, le) },
  u2: { bytes: 2, type: 'uint16', read: (v: DataView, at: number, le: boolean) => v.getUint16(at, le) },
  i4: { bytes: 4, type: 'int32', read: (v: DataView, at: number, le: boolean) => v.getInt32(at, le) },
  u4: { bytes: 4, type: 'uint32', read: (v: DataView, at: number, le: boolean) => v.getUint32(at, le) },
  i8: { bytes: 8, type: 'int64', read: (v: DataView, at: number, le: boolean) => v.getBigInt64(at, le) },
  u8: { bytes: 8, type: 'uint64', read: (v: DataView, at: number, le: boolean) => v.getBigUint64(at, le) },
  f2: { bytes: 2, type: 'float16', read: (v: DataView, at: number, le: boolean) => half(v.getUint16(at, le)) },
  f4: { bytes: 4, type: 'float32', read: (v: DataView, at: number, le: boolean) => shortest(v.getFloat32(at, le)) },
  f8: { bytes: 8, type: 'float64', read: (v: DataView, at: number, le: boolean) => v.getFloat64(at, le) },
} as const;
export type NumberType = keyof typeof numberTypes;

/** IEEE 754-2008 binary16. */
function half(bits: number): number {
  const sign = bits & 0x8000 ? -1 : 1;
  const exponent = (bits >> 10) & 0x1f;
  const fraction = bits & 0x3ff;
  if (exponent === 0) return sign * fraction * 2 ** -24;
  if (exponent === 31) return fraction === 0 ? sign * Number.POSITIVE_INFINITY : Number.NaN;
  return sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
}

/** The decimal number that a float32 was most likely written as: the shortest that is the same float32. */
function shortest(value: number): number {
  if (!Number.isFinite(value)) return value;
  for (let digits = 6; digits < 9; digits++) {
    const short = Number(value.toPrecision(digits));
    if (Math.fround(short) === value) return short;
  }
  return value;
}
