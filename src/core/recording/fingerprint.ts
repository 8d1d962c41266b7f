import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { Lead, SampleArray } from './recording';

/**
 * SHA-256 over length, rate and some words of a lead, in hex: the same for one signal in files of different kinds. '' where
 * the words are one value throughout, as those of many recordings may be.
 */
export function signalFingerprint({ sampleCount, samplingRateHz }: Lead, words: SampleArray): string {
  if (words.every(w => w === words[0])) return '';
  const hash = sha256.create().update(utf8ToBytes(`${sampleCount} ${samplingRateHz}\n`));
  return bytesToHex(hash.update(new Uint8Array(words.buffer, words.byteOffset, words.byteLength)).digest());
}
