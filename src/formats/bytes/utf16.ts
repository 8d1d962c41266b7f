import { FormatError } from '../format-error';
import { type ByteSource, bytesSource } from './source';

/** Longest UTF-16 text that is read, in bytes; it is held in memory. */
const longestBytes = 512 * 2 ** 20;

/** Byte order of a text that begins with a UTF-16 byte order mark; null for any other. */
export function utf16Order(head: Uint8Array): 'utf-16le' | 'utf-16be' | null {
  if (head[0] === 0xff && head[1] === 0xfe) return 'utf-16le';
  return head[0] === 0xfe && head[1] === 0xff ? 'utf-16be' : null;
}

/** The same text as UTF-8. */
export async function asUtf8(source: ByteSource, order: 'utf-16le' | 'utf-16be'): Promise<ByteSource> {
  if (source.size > longestBytes) {
    const problem = `the text is UTF-16 and has ${source.size} bytes; at most ${longestBytes} are read.`;
    throw new FormatError(source.name, 'text', 'byte 0', problem, 'Save it as UTF-8.');
  }
  const bytes = await source.read(0, source.size);
  return bytesSource(source.name, new TextEncoder().encode(new TextDecoder(order).decode(bytes)));
}
