import type { FilePath, SignalFiles } from './signal-files';

const storageKey = ({ session, recording, name }: FilePath) => `${session}/${recording}/${name}`;

/** Signal files without a disk. Their bytes are Blobs, which a browser may still move out of the way. */
export function createMemoryFiles(): SignalFiles {
  const files = new Map<string, Blob>();
  return {
    kind: 'memory',
    async create(path) {
      let parts: Blob[] = [];
      files.delete(storageKey(path));
      const settle = () => {
        files.set(storageKey(path), new Blob([files.get(storageKey(path)) ?? new Blob(), ...parts]));
        parts = [];
      };
      return {
        append(bytes) {
          // A Blob copies the bytes at once, so the caller may reuse them.
          parts.push(new Blob([bytes as Uint8Array<ArrayBuffer>]));
        },
        settle,
        close: settle,
      };
    },
    async open(path) {
      const blob = files.get(storageKey(path));
      return blob ? { size: blob.size, read: (start, end) => blob.slice(start, end).arrayBuffer() } : null;
    },
    async remove(session, recording) {
      const prefix = recording === undefined ? `${session}/` : `${session}/${recording}/`;
      for (const key of [...files.keys()]) if (key.startsWith(prefix)) files.delete(key);
    },
  };
}
