/**
 * Throws where a raw Snappy block (google/snappy, format_description.txt) does not come to `outputLength` bytes, or where one
 * of its elements runs beyond what is there. The library that unpacks it takes a length of 2 GiB and more for a negative
 * one, goes back, and may never come to an end.
 */
export function checkSnappy(input: Uint8Array, outputLength: number): void {
  if (input.length === 0 && outputLength === 0) return;
  let at = 0;
  while (at < input.length && input[at]! >= 128) at++;
  at++;
  let out = 0;
  while (at < input.length && out <= outputLength) {
    const tag = input[at++]!;
    const kind = tag & 3;
    const high = tag >>> 2;
    if (kind === 0) {
      const extra = Math.max(0, high - 59);
      const length = high < 60 ? high + 1 : littleEndian(input, at, extra) + 1;
      at += extra + length;
      out += length;
    } else {
      at += kind === 3 ? 4 : kind;
      out += kind === 1 ? (high & 7) + 4 : high + 1;
    }
  }
  if (at !== input.length || out !== outputLength) throw new Error(`${input.length} bytes do not hold ${outputLength}`);
}

function littleEndian(bytes: Uint8Array, at: number, count: number): number {
  let value = 0;
  for (let i = count - 1; i >= 0; i--) value = value * 256 + (bytes[at + i] ?? 0);
  return value;
}
