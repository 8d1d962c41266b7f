/**
 * Records of a zip (PKWARE APPNOTE 6.3, sections 4.3.7 to 4.3.16 and 4.5.3). Every time stamp is 1980-01-01 00:00:00, and
 * sizes follow the data, so that an entry is written without knowing its length. Sizes and places that do not fit 32 bits
 * go into Zip64 fields.
 */

export interface PackedEntry {
  readonly path: Uint8Array;
  readonly compression: 0 | 8;
  readonly crc32: number;
  readonly packedBytes: number;
  readonly bytes: number;
  readonly headerOffset: number;
  /** Whether the local header already says that sizes have 64 bits. */
  readonly announced: boolean;
}

/** Sizes and places from here on need Zip64: all ones are the sign for it. */
export const zip64From = 0xffffffff;

const firstOf1980 = 0x00210000;
const flags = (path: Uint8Array) => 8 | (path.some(byte => byte > 127) ? 0x800 : 0);

export function localHeader(path: Uint8Array, compression: 0 | 8, announced: boolean): Uint8Array {
  const extra = announced ? zip64Extra([0, 0]) : new Uint8Array(0);
  const out = new Fields(30 + path.length + extra.length);
  out
    .u32(0x04034b50)
    .u16(announced ? 45 : 20)
    .u16(flags(path))
    .u16(compression)
    .u32(firstOf1980);
  out
    .u32(0)
    .u32(announced ? zip64From : 0)
    .u32(announced ? zip64From : 0);
  return out.u16(path.length).u16(extra.length).bytes(path).bytes(extra).done();
}

/** Sizes that follow the data; of 64 bits where they need to be, or the local header says so. */
export function dataDescriptor(entry: PackedEntry, limit: number): Uint8Array {
  const { packedBytes, bytes, announced } = entry;
  const large = announced || packedBytes >= limit || bytes >= limit;
  const out = new Fields(large ? 24 : 16).u32(0x08074b50).u32(entry.crc32);
  return (large ? out.u64(packedBytes).u64(bytes) : out.u32(packedBytes).u32(bytes)).done();
}

/** Central directory and end, for entries in the order in which they were written. */
export function directory(entries: readonly PackedEntry[], offset: number, limit: number): Uint8Array[] {
  const headers = entries.map(e => directoryHeader(e, limit));
  const size = headers.reduce((n, h) => n + h.length, 0);
  const large = entries.length >= 0xffff || size >= limit || offset >= limit;
  const end64 = large ? [zip64End(entries.length, size, offset)] : [];
  const out = new Fields(22).u32(0x06054b50).u32(0);
  const count = large ? 0xffff : entries.length;
  out
    .u16(count)
    .u16(count)
    .u32(large ? zip64From : size)
    .u32(large ? zip64From : offset);
  return [...headers, ...end64, out.u16(0).done()];
}

function directoryHeader(entry: PackedEntry, limit: number): Uint8Array {
  const { path, compression, crc32, packedBytes, bytes, headerOffset } = entry;
  const places = [bytes, packedBytes, headerOffset];
  const large = places.map(n => n >= limit);
  const extra = zip64Extra(places.filter((_, i) => large[i]));
  const [size, packed, at] = places.map((n, i) => (large[i] ? zip64From : n)) as [number, number, number];
  const version = extra.length > 0 || entry.announced ? 45 : 20;
  const out = new Fields(46 + path.length + extra.length);
  out.u32(0x02014b50).u16(version).u16(version).u16(flags(path)).u16(compression).u32(firstOf1980);
  out.u32(crc32).u32(packed).u32(size).u16(path.length).u16(extra.length);
  return out.u16(0).u16(0).u16(0).u32(0).u32(at).bytes(path).bytes(extra).done();
}

function zip64Extra(values: readonly number[]): Uint8Array {
  if (values.length === 0) return new Uint8Array(0);
  const out = new Fields(4 + 8 * values.length).u16(1).u16(8 * values.length);
  for (const value of values) out.u64(value);
  return out.done();
}

/** Zip64 end of the directory and its locator. */
function zip64End(count: number, size: number, offset: number): Uint8Array {
  const out = new Fields(76).u32(0x06064b50).u64(44).u16(45).u16(45).u32(0).u32(0);
  out.u64(count).u64(count).u64(size).u64(offset);
  return out
    .u32(0x07064b50)
    .u32(0)
    .u64(offset + size)
    .u32(1)
    .done();
}

/** Little-endian fields one after the other. */
class Fields {
  private readonly out: Uint8Array;
  private readonly view: DataView;
  private at = 0;

  constructor(length: number) {
    this.out = new Uint8Array(length);
    this.view = new DataView(this.out.buffer);
  }

  u16(value: number): this {
    this.view.setUint16(this.at, value, true);
    this.at += 2;
    return this;
  }

  u32(value: number): this {
    this.view.setUint32(this.at, value, true);
    this.at += 4;
    return this;
  }

  u64(value: number): this {
    this.view.setBigUint64(this.at, BigInt(value), true);
    this.at += 8;
    return this;
  }

  bytes(bytes: Uint8Array): this {
    this.out.set(bytes, this.at);
    this.at += bytes.length;
    return this;
  }

  done(): Uint8Array {
    return this.out;
  }
}
