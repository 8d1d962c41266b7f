import type { EditLog } from '../core/marks/log';
import { lastHash, sha256Hex } from '../core/marks/log';
import { checkBundle } from '../formats/bundle/check';
import { FormatError } from '../formats/format-error';
import { readHeads } from './heads';
import { hashInName, raterFolders, sessionFolder, topFolders } from './names';
import type { StudyRevision } from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';
import { listManifests, readManifest } from './session-parts';
import { keepsNothing, storedBundle } from './stored-bundle';
import { countedLog, readStoredLog, type StoredLog } from './stored-log';
import { chosenHead, readStudyRevision } from './study';

export interface StoreAudit {
  /** In words; empty when all is well. */
  readonly problems: readonly string[];
  readonly sessions: number;
  readonly parts: number;
  readonly logs: number;
  readonly entries: number;
  readonly signOffs: number;
  /** Lists of heads that everything was held against. */
  readonly headLists: number;
}

/**
 * Holds every part, manifest, log and sign-off of a study against its hashes, and the logs against all heads that were
 * written down. Reads everything.
 */
export async function auditStore(store: RemoteStore, onProgress?: (what: string) => void): Promise<StoreAudit> {
  const audit = new Audit(store, onProgress ?? (() => undefined));
  await audit.sessions();
  await audit.revisions();
  await audit.logs();
  await audit.heads();
  return audit.result();
}

class Audit {
  private readonly problems: string[] = [];
  private readonly counts = { sessions: 0, parts: 0, logs: 0, entries: 0, signOffs: 0, headLists: 0 };
  private readonly stored = new Map<string, StoredLog>();

  constructor(
    private readonly store: RemoteStore,
    private readonly onProgress: (what: string) => void,
  ) {}

  result(): StoreAudit {
    return { problems: this.problems, ...this.counts };
  }

  /** A file that cannot be read is a finding like others. */
  private async finding(act: () => Promise<void>): Promise<void> {
    try {
      await act();
    } catch (error) {
      if (!(error instanceof FormatError)) throw error;
      this.problems.push(error.message);
    }
  }

  private async namesIn(folder: string): Promise<readonly string[]> {
    return ((await this.store.list(folder)) ?? []).map(e => e.name);
  }

  async sessions(): Promise<void> {
    const top = await this.namesIn('');
    for (const name of topFolders) if (!top.includes(name)) this.problems.push(`the folder ${name}/ is missing`);
    for (const session of await this.namesIn('sessions/')) {
      this.onProgress(`session ${session}`);
      this.counts.sessions++;
      await this.parts(session);
      const manifests = await listManifests(this.store, session);
      if (manifests.length === 0)
        this.problems.push(`${sessionFolder(session)} has no manifest: its sending broke off`);
      for (const hash of manifests) await this.finding(() => this.manifest(session, hash));
    }
  }

  private async parts(session: string): Promise<void> {
    for (const name of await this.namesIn(sessionFolder(session))) {
      if (!name.endsWith('.part')) continue;
      this.counts.parts++;
      const path = sessionFolder(session) + name;
      const bytes = await this.store.read(path);
      if (!bytes || sha256Hex(bytes) !== hashInName(name)) this.problems.push(`${path} is not what its name says`);
    }
  }

  private async manifest(session: string, hash: string): Promise<void> {
    const manifest = await readManifest(this.store, session, hash);
    const there = new Set(await this.namesIn(sessionFolder(session)));
    const missing = manifest.parts.filter(p => !there.has(`${p.sha256}.part`));
    if (missing.length > 0) {
      this.problems.push(`session ${session}: ${missing.length} of ${manifest.parts.length} parts are missing`);
      return;
    }
    const { problems } = await checkBundle(storedBundle(this.store, manifest, keepsNothing));
    this.problems.push(...problems.map(p => `session ${session}: ${p}`));
  }

  async revisions(): Promise<void> {
    for (const name of await this.namesIn('study/')) {
      const bytes = await this.store.read(`study/${name}`);
      if (!bytes || sha256Hex(bytes) !== hashInName(name))
        this.problems.push(`study/${name} is not what its name says`);
    }
  }

  async logs(): Promise<void> {
    const revision = await this.currentRevision();
    const raters = new Set<string>();
    for (const folder of raterFolders) for (const rater of await this.namesIn(`${folder}/`)) raters.add(rater);
    for (const rater of [...raters].sort()) {
      this.onProgress(`logs of ${rater}`);
      const signed = (await this.namesIn(`done/${rater}/`)).map(name => name.replace(/\.json$/, ''));
      const begun = [...(await this.namesIn(`logs/${rater}/`)), ...(await this.namesIn(`after/${rater}/`))];
      for (const session of new Set([...signed, ...begun]))
        await this.finding(() => this.log(rater, session, chosenHead(revision, rater, session)));
    }
  }

  /** Null where none can be read, which is a finding of its own. */
  private async currentRevision(): Promise<StudyRevision | null> {
    try {
      return (await readStudyRevision(this.store))?.revision ?? null;
    } catch (error) {
      if (error instanceof FormatError || (error instanceof RemoteError && error.problem === 'unexpected')) return null;
      throw error;
    }
  }

  /** `chosen`: an entry on the branch of a forked log that a supervisor let count. */
  private async log(rater: string, session: string, chosen: string | null): Promise<void> {
    const stored = await readStoredLog(this.store, rater, session);
    const counted = countedLog(stored, chosen);
    const where = `log of ${rater}, ${session}`;
    this.stored.set(`${rater}/${session}`, stored);
    this.counts.logs++;
    this.counts.entries += stored.branches[0]?.entries.length ?? 0;
    this.problems.push(...stored.problems.map(p => `${where}: ${p}`));
    if (counted.branches.length > 1)
      this.problems.push(`${where}: it is forked into ${stored.branches.length} branches`);
    for (const { header } of stored.branches) {
      if (header.rater !== rater || header.session !== session) {
        this.problems.push(`${where}: it is signed by ${header.rater} for ${header.session}`);
      }
    }
    if (!stored.signOff) return;
    this.counts.signOffs++;
    if (!holds(stored, stored.signOff))
      this.problems.push(`${where}: it does not hold the ${stored.signOff.count} entries that were signed off`);
    else if (!holds(counted, stored.signOff))
      this.problems.push(`${where}: what was signed off is not on the branch that counts`);
  }

  async heads(): Promise<void> {
    await this.finding(async () => {
      const { lists, problems } = await readHeads(this.store);
      this.counts.headLists = lists.length;
      this.problems.push(...problems);
      for (const { number, heads } of lists) {
        for (const head of heads.heads) {
          const stored = this.stored.get(`${head.rater}/${head.session}`);
          if (stored && holds(stored, head)) continue;
          const where = `log of ${head.rater}, ${head.session}`;
          this.problems.push(
            `${where}: heads ${number} of ${heads.at} saw ${head.count} entries ending ${head.head.slice(0, 8)}, which are gone`,
          );
        }
      }
    });
  }
}

/** Whether a branch has the entry at this place; a log without entries ends in its header. */
function holds({ branches }: StoredLog, { count, head }: { readonly count: number; readonly head: string }): boolean {
  // Nothing is stored of an empty log that could be compared.
  if (count === 0) return branches.every(b => headerHash(b) === head);
  return branches.some(b => b.entries[count - 1]?.hash === head);
}

function headerHash({ header }: EditLog): string {
  return lastHash({ header, entries: [] });
}
