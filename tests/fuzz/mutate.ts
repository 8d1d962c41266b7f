/** Seeded random numbers in [0, 1): mulberry32, public domain. */
export function randomFrom(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const scraps = [
  '-1',
  '99999999',
  '1e308',
  '-0',
  'NaN',
  '\0\0\0\0',
  '\n',
  '\r',
  ',',
  ';',
  '"',
  '+1e9',
  '\x14\x14\0',
  '+',
  '0.0000001',
  '9:99',
  '\ufeff',
];

/** A copy of `seed` with 1 to 8 random changes: bytes, cuts, repeats, scraps that parsers dislike. */
export function mutate(seed: Uint8Array, random: () => number): Uint8Array {
  let bytes = seed.slice();
  const below = (n: number) => Math.floor(random() * n);
  for (let k = 1 + below(8); k > 0; k--) bytes = mutateOnce(bytes, below);
  return bytes;
}

function mutateOnce(bytes: Uint8Array<ArrayBuffer>, below: (n: number) => number): Uint8Array<ArrayBuffer> {
  // half of the changes hit the first bytes, where headers are
  const at = below(2) === 0 ? below(Math.min(1024, bytes.length + 1)) : below(bytes.length + 1);
  switch (below(6)) {
    case 0:
      if (at < bytes.length) bytes[at] = below(256);
      return bytes;
    case 1:
      if (at < bytes.length) bytes[at] = bytes[at]! ^ (1 << below(8));
      return bytes;
    case 2:
      return bytes.slice(0, at);
    case 3:
      return joined(bytes.subarray(0, at), bytes.subarray(Math.min(bytes.length, at + below(64))));
    case 4:
      return joined(bytes.subarray(0, at), bytes.subarray(Math.max(0, at - below(64))));
    default: {
      const scrap = new TextEncoder().encode(scraps[below(scraps.length)]!);
      const over = below(2) * scrap.length;
      return joined(bytes.subarray(0, at), scrap, bytes.subarray(Math.min(bytes.length, at + over)));
    }
  }
}

function joined(...parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}
