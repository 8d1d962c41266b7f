import type { ZipEntry } from '../zip/directory';

/** Whether a zip has NumPy arrays and nothing else. */
export function isNpz(entries: readonly ZipEntry[]): boolean {
  return entries.length > 0 && entries.every(e => e.path.endsWith('.npy'));
}
