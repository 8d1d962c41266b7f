import { defaultGuidance, type Guidance, guidanceOf, parseGuidance } from '../../core/review/places/guidance';
import type { Study } from '../../core/review/study/study';
import { collection } from '../../storage/collection';
import type { Library } from '../library';

/** Where a session's written protocol comes from. */
export interface SavedGuidance {
  readonly guidance: Guidance;
  readonly from: 'this session' | 'its study' | 'the default';
}

const settings = async (library: Library) => collection<Guidance>(await library.database(), 'setting');

/** The protocol raters of a session follow: its own, else that of the study it belongs to, else the default one. */
export async function guidanceFor(library: Library, sessionId: string): Promise<SavedGuidance> {
  const own = await (await settings(library)).get('guidance', sessionId);
  if (own) return { guidance: guidanceOf(own), from: 'this session' };
  const studies = await collection<Study>(await library.database(), 'study').list();
  const study = studies.find(s => s.sessions?.includes(sessionId) && (s.protocol ?? '').trim() !== '');
  if (study) return { guidance: parseGuidance(study.protocol), from: 'its study' };
  return { guidance: defaultGuidance, from: 'the default' };
}

/** Keeps a session's own protocol; null goes back to the study's or the default one. */
export async function saveGuidance(library: Library, sessionId: string, guidance: Guidance | null): Promise<void> {
  const kept = await settings(library);
  if (guidance) await kept.put(guidance, 'guidance', sessionId);
  else await kept.remove('guidance', sessionId);
}
