import type { ByteSource } from '../formats/bytes/source';

/** Shorter reads are headers and the like, which nothing follows. */
const leastBytes = 256 * 1024;

/** Fetches the stretch after the one asked for while that one is worked on: reading and decoding then overlap. */
export function readAhead(source: ByteSource): ByteSource {
  let next: { readonly start: number; readonly end: number; readonly bytes: Promise<Uint8Array> } | null = null;
  return {
    name: source.name,
    size: source.size,
    ...(source.made ? { made: source.made } : {}),
    async read(start, end) {
      const to = Math.min(end, source.size);
      const known = next?.start === start && next.end >= to ? next.bytes : source.read(start, to);
      next = null;
      if (to - start >= leastBytes && to < source.size) {
        const nextEnd = Math.min(source.size, to + to - start);
        next = { start: to, end: nextEnd, bytes: source.read(to, nextEnd) };
        // Whoever asks for it meets the failure; if nobody does, it does not matter.
        next.bytes.catch(() => undefined);
      }
      return (await known).subarray(0, to - start);
    },
  };
}
