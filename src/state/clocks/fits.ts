import type { AppliedClock, SessionClocks } from '../../core/report/pairs/recorder-pairs';
import type { Session } from '../../core/review/session';
import { type Collection, collection } from '../../storage/collection';
import type { HasLibrary, Library } from '../library';
import type { Clocks } from './clocks';

/** Clocks that beats or a person have set, kept with their session. */
interface KeptFit extends Omit<AppliedClock, 'offsetSeconds'> {
  readonly recording: string;
  /** The offset in seconds, under the name that stores have had from the beginning. */
  readonly offsetSec: number;
}

function keptFit(recording: string, { offsetSeconds, ...fit }: AppliedClock): KeptFit {
  return { recording, ...fit, offsetSec: offsetSeconds };
}

function appliedClock({ driftPpm, from, offsetSec }: KeptFit): AppliedClock {
  return { offsetSeconds: offsetSec, driftPpm, from };
}

async function kept(library: Library): Promise<Collection<readonly KeptFit[]>> {
  return collection<readonly KeptFit[]>(await library.database(), 'setting');
}

/** For functions that read or set the clocks of a session. */
export interface HasClocks {
  readonly clocks: Clocks;
}

/** Puts the kept clocks of a session where the strip reads them. */
export async function restoreClocks(app: HasLibrary & HasClocks, session: Session): Promise<void> {
  const fits = await (await kept(app.library)).get('clock', session.id).catch(() => null);
  for (const fit of fits ?? []) app.clocks.set(session, fit.recording, appliedClock(fit));
}

export async function saveClock(
  app: HasLibrary & HasClocks,
  session: Session,
  recording: string,
  fit: AppliedClock,
): Promise<void> {
  app.clocks.set(session, recording, fit);
  const store = await kept(app.library);
  const others = ((await store.get('clock', session.id)) ?? []).filter(f => f.recording !== recording);
  await store.put([...others, keptFit(recording, fit)], 'clock', session.id);
}

/** Takes in clocks from elsewhere. Those kept here stay; answers the recordings for which the two differ. */
export async function importClocks(library: Library, session: string, clocks: SessionClocks): Promise<string[]> {
  const store = await kept(library);
  const here = (await store.get('clock', session)) ?? [];
  const fits = Object.entries(clocks).map(([recording, clock]) => keptFit(recording, clock));
  const own = (fit: KeptFit) => here.find(f => f.recording === fit.recording);
  const fresh = fits.filter(fit => !own(fit));
  if (fresh.length > 0) await store.put([...here, ...fresh], 'clock', session);
  const differs = (a: KeptFit, b: KeptFit) => a.offsetSec !== b.offsetSec || a.driftPpm !== b.driftPpm;
  return fits.flatMap(fit => {
    const known = own(fit);
    return known && differs(known, fit) ? [fit.recording] : [];
  });
}

/** As a report takes them; sessions without a kept clock are absent, and the report finds theirs. */
export async function savedClocks(
  library: Library,
  sessionIds: readonly string[],
): Promise<Record<string, SessionClocks>> {
  const store = await kept(library);
  const out: Record<string, SessionClocks> = {};
  for (const id of sessionIds) {
    const fits = await store.get('clock', id);
    if (!fits) continue;
    out[id] = Object.fromEntries(fits.map(f => [f.recording, appliedClock(f)]));
  }
  return out;
}
