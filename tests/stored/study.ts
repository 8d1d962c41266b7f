import type { Study } from '../../src/core/review/study/study';
import { writeStudy } from '../../src/formats/bundle/study';
import { writeBundle } from '../../src/formats/bundle/writer';
import { lockBlocks } from '../../src/formats/locked/locked';
import { madeSession } from '../unit/formats/bundle/reviewed';

/** Opens every locked sample. */
export const storedPassphrase = 'three ropes and a sled';

/**
 * A study of two sessions: one of two recorders rated by two, with a clock that was set, and a stored session bundle of
 * the session `id`, rated by one.
 */
export function storedStudy(id: string, bundle: Uint8Array): Promise<Uint8Array> {
  const pair = madeSession(['R1', 'R2'], 30);
  const study: Study = {
    id: 'stored-study',
    title: 'Stored study',
    sessions: [pair.reviewed.session.id, id],
    settings: pair.reviewed.session.settings,
    namingPattern: '{participant}_{recorder}',
    segmentTemplate: ['seated radio watch', 'uphill run'],
    segmentSeconds: { 'seated radio watch': [0, 15], 'uphill run': [15, 29.7] },
    protocol: 'Mark each beat on its R peak.\nTake a break every 30 minutes.',
  };
  const clock = { offsetSeconds: -3.25, driftPpm: 12.5, from: 'by hand' };
  const bundleOf = (session: string) => (session === id ? bundle : writeBundle(pair.reviewed, pair.leads));
  return writeStudy(study, bundleOf, { [pair.reviewed.session.id]: { 'adhesive-logger': clock } });
}

export async function storedLocked(bundle: Uint8Array): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  for await (const part of lockBlocks([bundle], storedPassphrase)) parts.push(part);
  return new Uint8Array(Buffer.concat(parts));
}
