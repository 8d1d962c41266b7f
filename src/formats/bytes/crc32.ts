const table = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let bit = 0; bit < 8; bit++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

/**
 * CRC-32 of ISO 3309 (reflected polynomial 0xEDB88320), as zip (APPNOTE 4.4.7), gzip (RFC 1952) and PNG (annex D) use
 * it. `before` is the result for the bytes that came before, so that a long stream needs not be held.
 */
export function crc32(bytes: Uint8Array, before = 0): number {
  let crc = ~before;
  for (let i = 0; i < bytes.length; i++) crc = table[(crc ^ bytes[i]!) & 255]! ^ (crc >>> 8);
  return ~crc >>> 0;
}
