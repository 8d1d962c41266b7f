import { Inflate } from 'pako';

/** Deflated bytes unpacked piece by piece. */
export interface Inflater {
  /** What comes out of `piece`; `last` after which nothing more comes in. `problem` is null while all is well. */
  push(piece: Uint8Array, last: boolean): { readonly out: readonly Uint8Array[]; readonly problem: string | null };
}

/**
 * `raw`: without a header and a checksum, as in a zip (RFC 1951); else gzip, whose members are held against their
 * checksums and lengths (RFC 1952).
 */
export function createInflater(raw: boolean): Inflater {
  let out: Uint8Array[] = [];
  let ended = false;
  const begin = () => {
    const stream = new Inflate(raw ? { raw } : {});
    stream.onData = data => {
      if (data instanceof Uint8Array) out.push(data);
    };
    stream.onEnd = status => {
      ended = (status as number) === 0;
    };
    return stream;
  };
  let stream = begin();
  return {
    push(piece, last) {
      if (ended) {
        // pako goes on to the next member only inside one piece; zeros behind the last one are padding.
        if (raw || piece.every(byte => byte === 0)) return { out: [], problem: null };
        ended = false;
        stream = begin();
      }
      const sound = stream.push(piece, last);
      const ready = out;
      out = [];
      if (sound) return { out: ready, problem: last && !ended ? early : null };
      return { out: ready, problem: messageOf(stream) || (last ? early : 'damaged') };
    },
  };
}

const early = 'it ends too early';

/** What zlib says is wrong, e.g. 'incorrect data check'; pako keeps it where its types do not show it. */
function messageOf(stream: Inflate): string {
  return (stream as unknown as { readonly strm?: { readonly msg?: string } }).strm?.msg ?? '';
}
