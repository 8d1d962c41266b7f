import { wordCount } from '../core/recording/pieces';
import { type Pyramid, pyramidFromBuffer } from '../core/recording/pyramid';
import type { SampleArray } from '../core/recording/recording';
import { openBlobFiles } from './blob-files';
import { openBufferFiles } from './buffer-files';
import { ChunkCache } from './chunk-cache';
import { openOpfs } from './opfs';
import { asStorageProblem } from './problem';
import type { FilePath, FileReading, SignalFiles } from './signal-files';
import { arrayOf, CachedLead, type LeadShape, type StoredLead } from './stored-lead';
import { withoutDisk } from './without-disk';

/** Which lead: session id, recording id, position of the lead in the recording. */
export interface LeadId {
  readonly session: string;
  readonly recording: string;
  readonly lead: number;
}

export interface SignalStore {
  readonly kind: SignalFiles['kind'];
  lead(id: LeadId, shape: LeadShape): StoredLead;
  /** Null when it was not written, as with an import that was left unfinished. */
  pyramid(id: LeadId): Promise<Pyramid | null>;
  /** Whether the words of this lead are stored in full. */
  holds(id: LeadId, shape: LeadShape): Promise<boolean>;
  /** Removes the signals of a session, or of one recording, from disk and memory. */
  remove(session: string, recording?: string): Promise<void>;
}

/** Memory for words of all leads together; pyramids come on top (7 MB for a day of one lead at 1000 Hz). */
const cacheBudgetBytes = 64 * 1024 * 1024;

export const samplesPath = ({ session, recording, lead }: LeadId): FilePath => {
  return { session, recording, name: `${lead}.words` };
};
export const pyramidPath = (id: LeadId): FilePath => ({ ...samplesPath(id), name: `${id.lead}.pyramid` });

/** The store that pieces of signals are kept in where there is no private file system. */
const pieces = 'beat-ledger-signals';

/** The best place this browser has. `prefer` is for trying the fallback where the better one exists. */
export async function openSignalFiles(prefer: SignalFiles['kind'] = 'opfs'): Promise<SignalFiles> {
  const memory = withoutDisk()?.files;
  if (memory) return memory;
  try {
    const own = prefer === 'opfs' ? await openOpfs() : null;
    if (own) return own;
    return (prefer === 'buffers' ? null : await openBlobFiles(pieces)) ?? (await openBufferFiles(pieces));
  } catch (error) {
    throw asStorageProblem(error);
  }
}

export async function openSignalStore(prefer?: SignalFiles['kind']): Promise<SignalStore> {
  const files = await openSignalFiles(prefer);
  const cache = new ChunkCache<SampleArray>(cacheBudgetBytes);
  return {
    kind: files.kind,
    lead(id, shape) {
      const prefix = `${id.session}/${id.recording}/${id.lead}/`;
      return new CachedLead({ prefix, open: () => files.open(samplesPath(id)) }, cache, shape);
    },
    async pyramid(id) {
      const file = await open(files, pyramidPath(id));
      return file && pyramidFromBuffer(await file.read(0, file.size));
    },
    async holds(id, shape) {
      const file = await open(files, samplesPath(id));
      return file !== null && file.size >= wordCount(shape) * arrayOf[shape.format].BYTES_PER_ELEMENT;
    },
    async remove(session, recording) {
      cache.deleteUnder(recording === undefined ? `${session}/` : `${session}/${recording}/`);
      await files.remove(session, recording).catch(error => {
        throw asStorageProblem(error);
      });
    },
  };
}

async function open(files: SignalFiles, path: FilePath): Promise<FileReading | null> {
  try {
    return await files.open(path);
  } catch (error) {
    throw asStorageProblem(error);
  }
}
