import type { ByteSource, ReadControl } from '../bytes/source';
import { FormatError } from '../format-error';
import { readZipDirectory } from '../zip/directory';
import { unpackWhole } from '../zip/entries';
import { type ArrayFile, type ArrayVariable, largestArrayBytes, type NumberType, numberTypes } from './variable';

/**
 * NumPy's .npy, format versions 1 to 3, and .npz, a zip of such files (NumPy Enhancement Proposal 1; numpy.lib.format):
 * a magic string, the length of a header, the header as a Python literal, then the values.
 */
export const npyMagic = '\x93NUMPY';

interface Field {
  readonly name: string;
  readonly type: NumberType;
  readonly littleEndian: boolean;
  /** Of the field in one item. */
  readonly at: number;
}

interface Header {
  readonly fields: readonly Field[];
  readonly itemBytes: number;
  readonly fortranOrder: boolean;
  readonly shape: readonly number[];
  readonly dataAt: number;
}

export async function readNpy(source: ByteSource): Promise<ArrayFile> {
  const bytes = await whole(source);
  const variable = variableOf(source.name, '', bytes);
  return { kind: 'NumPy array', variables: [variable], leftOut: [] };
}

export async function readNpz(source: ByteSource, control: ReadControl): Promise<ArrayFile> {
  const variables: ArrayVariable[] = [];
  const leftOut: string[] = [];
  for (const entry of await readZipDirectory(source)) {
    control.signal?.throwIfAborted();
    const { bytes, sameCrc } = await unpackWhole(source, entry, largestArrayBytes);
    const place = `${source.name}: ${entry.path}`;
    if (!sameCrc) throw damaged(place, 'its bytes', 'they do not fit their checksum.');
    const name = entry.path.replace(/\.npy$/, '');
    try {
      variables.push(variableOf(place, name, bytes));
    } catch (error) {
      if (!(error instanceof FormatError) || !error.problem.startsWith('it holds')) throw error;
      leftOut.push(`${name}: ${error.problem}`);
    }
  }
  return { kind: 'NumPy arrays', variables, leftOut };
}

async function whole(source: ByteSource): Promise<Uint8Array> {
  if (source.size > largestArrayBytes)
    throw damaged(source.name, 'byte 0', `it has ${source.size} bytes; at most 1 GiB is read.`, 'Save it in parts.');
  return source.read(0, source.size);
}

function variableOf(file: string, name: string, bytes: Uint8Array): ArrayVariable {
  const header = readHeader(file, bytes);
  const { fields, itemBytes, fortranOrder, shape, dataAt } = header;
  if (shape.length > 2)
    throw damaged(file, 'shape', `it holds ${shape.length} dimensions, not one or two.`, 'Save one lead or a table.');
  const items = shape.reduce((n, length) => n * length, 1);
  if (dataAt + items * itemBytes > bytes.length)
    throw damaged(
      file,
      `byte ${bytes.length}`,
      `${items} items of ${itemBytes} bytes are promised, the file ends before.`,
    );
  const [first = 1, second = 1] = shape;
  // Samples run along the longer side.
  const turned = second > first;
  const rows = turned ? second : first;
  const across = turned ? first : second;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const byRow = turned === fortranOrder;
  const columns = fields.flatMap(field => Array.from({ length: across }, () => field.name));
  return {
    name,
    rows,
    columns,
    type: fields.length === 1 ? numberTypes[fields[0]!.type].type : `${fields.length} fields`,
    value(row, column) {
      const field = fields[Math.floor(column / across)]!;
      const c = column % across;
      const item = byRow ? row * across + c : c * rows + row;
      return numberTypes[field.type].read(view, dataAt + item * itemBytes + field.at, field.littleEndian);
    },
  };
}

function readHeader(file: string, bytes: Uint8Array): Header {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const version = bytes[6];
  if (bytes.length < 12 || version === undefined || version < 1 || version > 3)
    throw damaged(
      file,
      'byte 6',
      `its format version is ${version ?? 'missing'}; 1 to 3 are read.`,
      'Save it again with numpy.save.',
    );
  const from = version === 1 ? 10 : 12;
  const length = version === 1 ? view.getUint16(8, true) : view.getUint32(8, true);
  if (from + length > bytes.length) throw damaged(file, 'byte 8', 'the file ends inside its header.');
  const text = new TextDecoder().decode(bytes.subarray(from, from + length));
  const descr = /'descr':\s*('[^']*'|\[[^\]]*\])/.exec(text)?.[1];
  const order = /'fortran_order':\s*(True|False)/.exec(text)?.[1];
  const shape = /'shape':\s*\(([\d,\s]*)\)/.exec(text)?.[1];
  if (descr === undefined || order === undefined || shape === undefined)
    throw damaged(file, `byte ${from}`, 'its header is not that of an array.');
  const lengths = shape.split(',').flatMap(n => (n.trim() === '' ? [] : [Number(n)]));
  if (!lengths.every(n => Number.isSafeInteger(n) && n >= 0)) throw damaged(file, 'shape', `its shape is (${shape}).`);
  return { ...fieldsOf(file, descr), fortranOrder: order === 'True', shape: lengths, dataAt: from + length };
}

function fieldsOf(file: string, descr: string): { fields: Field[]; itemBytes: number } {
  const named = [...descr.matchAll(/\(\s*'([^']*)'\s*,\s*'([^']*)'\s*\)/g)].map(m => [m[1]!, m[2]!] as const);
  const all = descr.startsWith("'") ? [['', descr.slice(1, -1)] as const] : named;
  const fields: Field[] = [];
  let at = 0;
  for (const [name, code] of all) {
    const type = /^[<>|=]?([iufb][1248])$/.exec(code)?.[1]?.replace('b1', 'u1');
    if (type === undefined || !Object.hasOwn(numberTypes, type))
      throw damaged(
        file,
        'descr',
        `it holds ${code} items, which are no numbers here.`,
        'Save it as floats or integers.',
      );
    fields.push({ name, type: type as NumberType, littleEndian: !code.startsWith('>'), at });
    at += numberTypes[type as NumberType].bytes;
  }
  if (fields.length === 0) throw damaged(file, 'descr', `it holds ${descr} items.`, 'Save it as floats or integers.');
  return { fields, itemBytes: at };
}

function damaged(file: string, place: string, problem: string, remedy = 'Copy or save it again.') {
  return new FormatError(file, 'NumPy array', place, problem, remedy);
}
