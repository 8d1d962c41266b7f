import { emptyPyramid } from '../../core/recording/pyramid';
import type { SampleArray } from '../../core/recording/recording';
import type { OpenedBundle } from '../../formats/bundle/reader';
import { ChunkCache } from '../../storage/chunk-cache';
import { CachedLead } from '../../storage/stored-lead';
import type { LeadSource, StoredLeads } from '../review/signals';

/** Words of all leads together that are held in memory while they are not stored. */
const cacheBudgetBytes = 32 * 2 ** 20;

export interface RemoteReading {
  /** Runs until it succeeds, however long the store cannot be reached. */
  patiently<T>(read: () => Promise<T>): Promise<T>;
  /** The first words have come. */
  onWords(): void;
}

/**
 * Leads of a bundle in the store, read by ranges, by recording. Null where they are packed: then nothing can be read from
 * the middle.
 */
export async function remoteLeads(
  bundle: OpenedBundle,
  reading: RemoteReading,
): Promise<ReadonlyMap<string, StoredLeads> | null> {
  const { session } = bundle.reviewed;
  const cache = new ChunkCache<SampleArray>(cacheBudgetBytes);
  const found = new Map<string, StoredLeads>();
  for (const { recording } of session.recordings) {
    const sources: LeadSource[] = [];
    for (const [i, lead] of recording.leads.entries()) {
      const bytes = await bundle.storedLead(recording.id, i);
      if (!bytes) return null;
      const read = async (start: number, end: number) => {
        // In a buffer of its own, so that it can be taken for words.
        const { buffer } = (await reading.patiently(() => bytes.read(start, end))).slice();
        reading.onWords();
        return buffer as ArrayBuffer;
      };
      const file = { prefix: `${session.id}/${recording.id}/${i}/`, open: async () => ({ size: bytes.size, read }) };
      sources.push({ lead, samples: new CachedLead(file, cache, lead), pyramid: emptyPyramid(lead) });
    }
    found.set(recording.id, sources);
  }
  return found;
}
