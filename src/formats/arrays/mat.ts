import { createInflater } from '../bytes/inflate';
import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { joinBytes } from '../zip/writer';
import { type ArrayFile, type ArrayVariable, largestArrayBytes, type NumberType, numberTypes } from './variable';

/**
 * MAT-files of level 5: a header of 128 bytes, then data elements, each with type and length in a tag (The MathWorks,
 * MAT-File Format, 2010s editions, chapter 1). Numeric matrices are read, also inside structures of one element.
 */
export const matMagic = 'MATLAB 5.0';

/** Data types of the elements (table 1-1 of the standard). */
const miTypes: Readonly<Record<number, NumberType>> = {
  1: 'i1',
  2: 'u1',
  3: 'i2',
  4: 'u2',
  5: 'i4',
  6: 'u4',
  7: 'f4',
  9: 'f8',
  12: 'i8',
  13: 'u8',
};
const miMatrix = 14;
const miCompressed = 15;

/** Array classes (table 1-3). */
const classNames = ['', 'a cell array', 'a structure', 'an object', 'text', 'a sparse matrix'];
const numericTypes = ['float64', 'float32', 'int8', 'uint8', 'int16', 'uint16', 'int32', 'uint32', 'int64', 'uint64'];
const firstNumeric = 6;
const structure = 2;

interface Element {
  readonly type: number;
  readonly data: Uint8Array;
  /** Where the next element begins. */
  readonly next: number;
}

class MatReader {
  readonly variables: ArrayVariable[] = [];
  readonly leftOut: string[] = [];

  constructor(
    private readonly file: string,
    private readonly little: boolean,
  ) {}

  /** A tag of 8 bytes, or of 4 with up to 4 bytes of data in it; data are padded to 8 bytes. */
  element(bytes: Uint8Array, at: number): Element {
    if (at + 8 > bytes.length) throw this.damaged(at, 'the file ends inside a tag.');
    const view = this.view(bytes);
    const first = view.getUint32(at, this.little);
    const small = first >>> 16;
    if (small !== 0) {
      if (small > 4) throw this.damaged(at, `a small element has ${small} bytes.`);
      return { type: first & 0xffff, data: bytes.subarray(at + 4, at + 4 + small), next: at + 8 };
    }
    const length = view.getUint32(at + 4, this.little);
    const end = at + 8 + length;
    if (end > bytes.length) throw this.damaged(at, `an element of ${length} bytes is promised, the file ends before.`);
    const padded = first === miCompressed ? end : at + 8 + Math.ceil(length / 8) * 8;
    return { type: first, data: bytes.subarray(at + 8, end), next: padded };
  }

  /** Everything at the top of the file, or inside a compressed element. */
  elements(bytes: Uint8Array, from: number): void {
    for (let at = from; at < bytes.length; ) {
      const { type, data, next } = this.element(bytes, at);
      if (type === miCompressed) this.elements(this.unpacked(data, at), 0);
      else if (type === miMatrix) this.matrix(data, '', 0);
      at = next;
    }
  }

  private matrix(bytes: Uint8Array, within: string, depth: number): void {
    // A field that was never set.
    if (bytes.length === 0) return;
    const flags = this.element(bytes, 0);
    const sizes = this.element(bytes, flags.next);
    const naming = this.element(bytes, sizes.next);
    if (flags.data.length < 8) throw this.damaged(0, 'a matrix has no flags.');
    const bits = this.view(flags.data).getUint32(0, this.little);
    const shape = this.numbers(sizes).map(Number);
    const own = String.fromCharCode(...naming.data.subarray(0, 255));
    const name = within === '' || own === '' ? within || own : `${within}.${own}`;
    const kind = bits & 0xff;
    if (kind === structure && depth < 8) {
      this.fields(bytes, naming.next, name, shape, depth);
      return;
    }
    if (kind < firstNumeric || kind - firstNumeric >= numericTypes.length) {
      this.leftOut.push(`${name} is ${classNames[kind] ?? 'of a kind that is not read'}`);
      return;
    }
    if (bits & 0x0800) return void this.leftOut.push(`${name} has complex numbers`);
    if (shape.length > 2) return void this.leftOut.push(`${name} has ${shape.length} dimensions`);
    this.variables.push(
      this.variable(name, numericTypes[kind - firstNumeric]!, shape, this.element(bytes, naming.next)),
    );
  }

  /** Numbers may be stored in a smaller type than their class. */
  private variable(name: string, type: string, shape: readonly number[], values: Element): ArrayVariable {
    const [first = 0, second = 0] = shape;
    const stored = this.typeOf(values);
    const { bytes: itemBytes, read } = numberTypes[stored];
    if (first < 0 || second < 0 || first * second * itemBytes > values.data.length)
      throw this.damaged(0, `${name} should have ${first} x ${second} values; ${values.data.length} bytes are there.`);
    // Samples run along the longer side; the file stores column by column.
    const turned = second > first;
    const view = this.view(values.data);
    const [rows, across] = turned ? [second, first] : [first, second];
    return {
      name,
      rows,
      columns: Array.from({ length: across }, () => ''),
      type,
      value: (row, column) => {
        const item = turned ? row * across + column : column * rows + row;
        return read(view, item * itemBytes, this.little);
      },
    };
  }

  /** Names of one length, zero-filled, then a matrix for each field. */
  private fields(bytes: Uint8Array, at: number, name: string, shape: readonly number[], depth: number): void {
    if (shape.some(n => n !== 1)) return void this.leftOut.push(`${name} is an array of structures`);
    const lengthOf = this.element(bytes, at);
    const names = this.element(bytes, lengthOf.next);
    const length = Number(this.numbers(lengthOf)[0] ?? 0);
    if (length < 1 || length > 4096) throw this.damaged(at, `names of fields of ${name} have ${length} bytes.`);
    let next = names.next;
    for (let from = 0; from + length <= names.data.length; from += length) {
      const field = String.fromCharCode(...names.data.subarray(from, from + length)).replace(/\0.*$/s, '');
      const part = this.element(bytes, next);
      if (part.type === miMatrix) this.matrix(part.data, `${name}.${field}`, depth + 1);
      next = part.next;
    }
  }

  private numbers(element: Element): (number | bigint)[] {
    const { bytes, read } = numberTypes[this.typeOf(element)];
    const view = this.view(element.data);
    return Array.from({ length: Math.min(64, Math.floor(element.data.length / bytes)) }, (_, i) =>
      read(view, i * bytes, this.little),
    );
  }

  private typeOf({ type }: Element): NumberType {
    const found = Object.hasOwn(miTypes, type) ? miTypes[type] : undefined;
    if (!found) throw this.damaged(0, `an element has the data type ${type}, which holds no numbers.`);
    return found;
  }

  private unpacked(data: Uint8Array, at: number): Uint8Array {
    const inflater = createInflater(false);
    const parts: Uint8Array[] = [];
    let size = 0;
    const step = 1 << 16;
    for (let from = 0; from < data.length; from += step) {
      const { out, problem } = inflater.push(data.subarray(from, from + step), from + step >= data.length);
      for (const part of out) {
        parts.push(part.slice());
        size += part.length;
      }
      if (size > largestArrayBytes)
        throw this.damaged(at, 'a variable inflates to more than 1 GiB.', 'Save it in parts.');
      if (problem) throw this.damaged(at, `compressed data are damaged (${problem}).`);
    }
    return joinBytes(parts);
  }

  private view(bytes: Uint8Array): DataView {
    return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  }

  damaged(at: number, problem: string, remedy = 'Copy or save it again.'): FormatError {
    return new FormatError(this.file, 'MAT-file', `byte ${at}`, problem, remedy);
  }
}

export async function readMat(source: ByteSource, control: ReadControl): Promise<ArrayFile> {
  control.signal?.throwIfAborted();
  const head = await source.read(0, 128);
  const order = String.fromCharCode(...head.subarray(126, 128));
  const reader = new MatReader(source.name, order === 'IM');
  if (order !== 'IM' && order !== 'MI') throw reader.damaged(126, 'it does not say its byte order.');
  if (source.size > largestArrayBytes)
    throw reader.damaged(0, `it has ${source.size} bytes; at most 1 GiB is read.`, 'Save it in parts.');
  reader.elements(await source.read(0, source.size), 128);
  return { kind: 'MAT-file', variables: reader.variables, leftOut: reader.leftOut };
}
