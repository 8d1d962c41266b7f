import { createStore, type StoreApi } from 'zustand/vanilla';
import { raterFolders } from '../../remote/names';
import type { Assignment } from '../../remote/records';
import { RemoteError } from '../../remote/remote-error';
import type { Account, RemoteStore } from '../../remote/remote-store';
import { errorMessage } from '../error-message';
import type { Library } from '../library';
import type { PrefsStore } from '../stores/prefs-store';
import type { UiStore } from '../stores/ui-store';

/** What sharing needs of the page. */
export interface SharingParts {
  readonly ui: UiStore;
  readonly library: Library;
  readonly prefs: PrefsStore;
  now(): Date;
  importFiles(files: readonly File[]): Promise<readonly string[]>;
}

export type StoreRole = 'rater' | 'supervisor' | 'auditor';

/** How the log of one session stands in the lab's store. */
export type SentState =
  | { readonly state: 'sent'; readonly entries: number }
  | { readonly state: 'sending' }
  /** In words, for the page. `settle`: there is nothing to send until somebody has chosen between two machines' reviews. */
  | { readonly state: 'not sent'; readonly why: string; readonly settle?: true };

export interface SignedIn {
  readonly study: string;
  readonly user: string;
  readonly role: StoreRole;
  readonly remote: RemoteStore;
  /** The store had no study of that name: a supervisor begins it, or has mistyped it. */
  readonly isNew?: boolean;
}

export interface LabStoreState {
  /** Null: nobody is signed in, and no server is asked for anything. */
  readonly signedIn: SignedIn | null;
  readonly assignments: readonly Assignment[];
  /** Sessions that the rater has signed off in the store. */
  readonly signedOff: ReadonlySet<string>;
  /** By session. */
  readonly sent: Readonly<Record<string, SentState>>;
  /** Sessions that are being fetched. */
  readonly fetching: ReadonlySet<string>;
}

/** The lab's own store that the page was served with, for who signs in. The password is kept until the tab is closed. */
export interface LabStore {
  readonly store: StoreApi<LabStoreState>;
  signIn(study: string, account: Account): Promise<void>;
  signOut(): void;
  /** Reads again what is assigned and signed off. */
  refresh(): Promise<void>;
}

const signedOutState: LabStoreState = {
  signedIn: null,
  assignments: [],
  signedOff: new Set(),
  sent: {},
  fetching: new Set(),
};

export function createLabStore(prefs: PrefsStore): LabStore {
  const store = createStore<LabStoreState>(() => signedOutState);
  const refresh = async () => {
    const { signedIn } = store.getState();
    if (signedIn?.role !== 'rater') return;
    const tasks = await tasksOf(signedIn);
    // Somebody else may have signed in meanwhile.
    store.setState(s => (s.signedIn === signedIn ? tasks : s));
  };
  return {
    store,
    refresh,
    signOut() {
      prefs.signedInAs(null);
      store.setState(signedOutState, true);
    },
    async signIn(study, account) {
      if (!/^[a-z0-9-]{1,80}$/.test(study)) {
        throw new Error('the name of a study has small letters, digits and hyphens');
      }
      const base = new URL(`/study/${study}/`, location.href).href;
      const { remote, isNew } = await openStore(base, account);
      const role = await roleIn(remote);
      // Only a supervisor may begin a study, and is told so; anybody else has mistyped its name.
      if (role !== 'supervisor' && isNew) {
        throw new Error(
          `the store has no study ${study}: ask your supervisor how it is written, or whether it has begun`,
        );
      }
      const signedIn: SignedIn = { study, user: account.user, role, remote, isNew };
      // Before the page says that somebody is signed in, so that it never says that nothing is assigned while it asks.
      const tasks = role === 'rater' ? await tasksOf(signedIn) : {};
      store.setState({ ...signedOutState, signedIn, ...tasks }, true);
      // The account is the rater's code: nobody works under another one by mistake, and nobody is asked for it again.
      prefs.signedInAs(role === 'rater' ? account.user : null);
      if (prefs.getState().rater === '') prefs.change({ rater: account.user });
    },
  };
}

/** What a rater has to do and has signed off. */
async function tasksOf({ remote, user }: SignedIn): Promise<Pick<LabStoreState, 'assignments' | 'signedOff'>> {
  // Fetched when it is needed: who works alone needs none of it.
  const [{ readAssignments }, { listSignedOff }] = await Promise.all([
    import('../../remote/study'),
    import('../../remote/sign-off'),
  ]);
  const [assignments, done] = await Promise.all([readAssignments(remote, user), listSignedOff(remote, user)]);
  return { assignments, signedOff: new Set(done) };
}

/** Which of the two servers it is shows in how it lists a folder; `isNew`: there is none, so the study has not begun. */
async function openStore(base: string, account: Account): Promise<{ remote: RemoteStore; isNew: boolean }> {
  const connection = { base, account };
  const [{ webdavStore }, { indexStore }] = await Promise.all([
    import('../../remote/webdav-store'),
    import('../../remote/index-store'),
  ]);
  const webdav = webdavStore(connection);
  try {
    return { remote: webdav, isNew: (await webdav.list('study/')) === null };
  } catch (error) {
    if (!(error instanceof RemoteError) || !['refused', 'unexpected'].includes(error.problem)) throw error;
  }
  const index = indexStore(connection);
  return { remote: index, isNew: (await index.list('study/')) === null };
}

/** What the account is in a study, which need not have begun; nothing is changed by asking. */
export async function roleIn(remote: RemoteStore): Promise<StoreRole> {
  if (!(await isAllowed(remote.list('')))) return 'rater';
  // Only a supervisor is let that far. A folder that is there stays as it is; in a study that is not there none is made.
  return (await isAllowed(remote.folder(`${raterFolders[0]}/`))) ? 'supervisor' : 'auditor';
}

async function isAllowed(act: Promise<unknown>): Promise<boolean> {
  try {
    await act;
    return true;
  } catch (error) {
    if (!(error instanceof RemoteError)) throw error;
    if (error.problem === 'refused') return false;
    if (error.problem === 'no folder') return true;
    throw error;
  }
}

/** Whether this browser keeps the session or the user's review of it: else it has nothing of it to send. */
export async function isHere(library: Library, sessionId: string, user: string): Promise<boolean> {
  return (await library.session(sessionId)) !== null || (await library.raters(sessionId)).includes(user);
}

/** Sessions whose reviews have something that the store lacks, as far as this tab knows. */
export function unsentSessions({ sent }: Pick<LabStoreState, 'sent'>): readonly string[] {
  const isUnsent = (of: SentState) => of.state === 'sending' || (of.state === 'not sent' && !of.settle);
  return Object.keys(sent)
    .filter(session => isUnsent(sent[session]!))
    .sort();
}

/** What a failure to reach the store means, and what to do; a part of a sentence, without its full stop. */
export function remoteWords(error: unknown): string {
  if (!(error instanceof RemoteError)) {
    return (error instanceof Error ? errorMessage(error) : String(error)).replace(/\.$/, '');
  }
  const words: Record<RemoteError['problem'], string> = {
    offline: 'offline',
    'sign in': 'sign in again: the password was not accepted',
    refused: 'the store does not allow it',
    full: 'the store is full: ask who administers it',
    busy: 'the store is busy',
    'no folder': 'the supervisor has not set up a folder for this code',
    unexpected: `the store returned something unexpected (${error.detail})`,
  };
  return words[error.problem];
}
