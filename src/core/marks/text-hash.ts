import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';

/**
 * SHA-256 of many short texts, one after the other. A log is thousands of them, and there what a general function sets up
 * for each text takes three times as long as the hashing (FIPS 180-4, section 6.2, whose names the words here have).
 */

/** First 32 bits of the fractions of the square roots of the first 8 primes, and of the cube roots of the first 64. */
// biome-ignore format: a table
const initial = Int32Array.of(
  0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19,
);
// biome-ignore format: a table
const rounds = Int32Array.of(
  0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
  0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
  0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
  0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
  0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
  0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
  0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
  0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
);

/** Room for the words of a text, of whole blocks of 16. */
const words = new Int32Array(4096);
const longest = 4 * words.length - 64;
const schedule = new Int32Array(64);
const state = new Int32Array(8);
const hexOfByte = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, '0'));

/** SHA-256 of the text's UTF-8, as 64 hex digits. */
export function hashOfText(text: string): string {
  const blocks = text.length > longest ? 0 : blocksOf(text);
  if (blocks === 0) return bytesToHex(sha256(utf8ToBytes(text)));
  state.set(initial);
  for (let block = 0; block < blocks; block++) compress(16 * block);
  let hex = '';
  for (let i = 0; i < state.length; i++) {
    const word = state[i]!;
    hex += hexOfByte[word >>> 24]! + hexOfByte[(word >>> 16) & 255]! + hexOfByte[(word >>> 8) & 255]!;
    hex += hexOfByte[word & 255]!;
  }
  return hex;
}

/** Puts a text of ASCII, whose bytes are its characters, and its padding into `words`; 0 blocks where it is none. */
function blocksOf(text: string): number {
  const { length } = text;
  const blocks = ((length + 8) >> 6) + 1;
  const end = 16 * blocks;
  let all = 0;
  let word = 0;
  for (let i = 0; i < length; i++) {
    const code = text.charCodeAt(i);
    all |= code;
    word = (word << 8) | code;
    if ((i & 3) === 3) words[i >> 2] = word;
  }
  if (all > 127) return 0;
  const left = length & 3;
  // The bit after the text, zeros, and its length in bits.
  words[length >> 2] = (left === 0 ? 0 : word << (32 - 8 * left)) | (0x80 << (24 - 8 * left)) | 0;
  words.fill(0, (length >> 2) + 1, end - 1);
  words[end - 1] = 8 * length;
  return blocks;
}

/** Works the 16 words from `at` on into the state. */
function compress(at: number): void {
  const w = schedule;
  for (let t = 0; t < 16; t++) w[t] = words[at + t]!;
  for (let t = 16; t < 64; t++) {
    const x = w[t - 15]!;
    const y = w[t - 2]!;
    const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
    const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
    w[t] = (w[t - 16]! + s0 + w[t - 7]! + s1) | 0;
  }
  let a = state[0]!;
  let b = state[1]!;
  let c = state[2]!;
  let d = state[3]!;
  let e = state[4]!;
  let f = state[5]!;
  let g = state[6]!;
  let h = state[7]!;
  for (let t = 0; t < 64; t++) {
    const sum1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const t1 = (h + sum1 + (g ^ (e & (f ^ g))) + rounds[t]! + w[t]!) | 0;
    const sum0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const t2 = (sum0 + ((a & b) | (c & (a | b)))) | 0;
    h = g;
    g = f;
    f = e;
    e = (d + t1) | 0;
    d = c;
    c = b;
    b = a;
    a = (t1 + t2) | 0;
  }
  state[0]! += a;
  state[1]! += b;
  state[2]! += c;
  state[3]! += d;
  state[4]! += e;
  state[5]! += f;
  state[6]! += g;
  state[7]! += h;
}
