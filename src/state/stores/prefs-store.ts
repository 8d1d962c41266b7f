import { get, update } from 'idb-keyval';
import { createStore } from 'zustand/vanilla';
import { cssPxPerMm } from '../../core/units';
import { valueIfStored } from '../../storage/kept-value';

/** What this person likes on this device. Kept apart from any session; never part of a bundle. */
export interface Prefs {
  /** Code that new reviews are signed with; '' until one is chosen. */
  readonly rater: string;
  readonly theme: 'system' | 'light' | 'dark';
  readonly pxPerMm: number;
  readonly largeText: boolean;
  /** How much larger the words on the strip are than those of the page. */
  readonly stripWords: 1 | 1.25 | 1.5;
  /** Command id -> keys, where the person changed them. */
  readonly keys: Readonly<Record<string, readonly string[]>>;
  readonly handedness: 'right' | 'left';
  /** Turning the page leaves out the time outside all segments. */
  readonly skipOutside: boolean;
  /** The guided ten beats were taken or declined. */
  readonly guided: boolean;
  /** How many of the guided acts are done. */
  readonly guideStep: number;
  /** Sessions whose differences are settled on this device, and under which code. */
  readonly supervises: Readonly<Record<string, string>>;
}

/** For functions that need to know who works here. */
export interface HasRater {
  readonly prefs: { getState(): Pick<Prefs, 'rater'> };
}

const startPrefs: Prefs = {
  rater: '',
  theme: 'system',
  pxPerMm: cssPxPerMm,
  largeText: false,
  stripWords: 1,
  keys: {},
  handedness: 'right',
  skipOutside: true,
  guided: false,
  guideStep: 0,
  supervises: {},
};

export type PrefsStore = ReturnType<typeof createPrefsStore>;

const key = 'beat-ledger-preferences';
const tabKey = 'beat-ledger-rater';

/** The code that this tab worked under before it was loaded again; null for none, or where the browser keeps nothing. */
function codeOfTab(): string | null {
  try {
    return sessionStorage.getItem(tabKey);
  } catch {
    return null;
  }
}

function stayWith(rater: string): void {
  try {
    if (rater === '') sessionStorage.removeItem(tabKey);
    else sessionStorage.setItem(tabKey, rater);
  } catch {
    // A browser that keeps nothing asks again.
  }
}

/**
 * What is kept after `changed` was chosen where `before` held: of records, such as the keys, only the entries that were changed
 * or taken away are, so that those of another tab stay.
 */
export function keptWith(stored: Partial<Prefs>, before: Prefs, changed: Partial<Prefs>): Partial<Prefs> {
  const { keys, supervises } = changed;
  return {
    ...stored,
    ...changed,
    ...(keys ? { keys: entriesWith(stored.keys, before.keys, keys) } : {}),
    ...(supervises ? { supervises: entriesWith(stored.supervises, before.supervises, supervises) } : {}),
  };
}

type Entries<V> = Readonly<Record<string, V>>;

function entriesWith<V>(stored: Entries<V> = {}, before: Entries<V>, after: Entries<V>): Entries<V> {
  const untouched = Object.entries(stored).filter(([id]) => !(id in before) || id in after);
  const chosen = Object.entries(after).filter(([id, value]) => !(id in before) || before[id] !== value);
  return Object.fromEntries([...untouched, ...chosen]);
}

/**
 * Loads what is kept; a device that keeps nothing starts with the defaults and still works. Another tab may have changed
 * something else meanwhile: only what is changed is written. The code is the exception: a tab stays with its own, also when
 * it is loaded again, as somebody else may have begun to work in another one.
 */
export function createPrefsStore() {
  const store = createStore<Prefs>(() => startPrefs);
  let account: string | null = null;
  // Chosen before what is kept has come: newer than that, and not to be lost to it. Null once it has come.
  let early: Partial<Prefs> | null = {};
  const withAccount = (part: Partial<Prefs>) => (account === null ? part : { ...part, rater: account });
  const change = (part: Partial<Prefs>) => {
    const changed = withAccount(part);
    const before = store.getState();
    store.setState(changed);
    if (early) early = { ...early, ...changed };
    if (changed.rater !== undefined) stayWith(changed.rater);
    void valueIfStored(() => update<Partial<Prefs>>(key, stored => keptWith(stored ?? {}, before, changed)));
  };
  const load = async () => {
    const found = await valueIfStored(() => get<Partial<Prefs>>(key));
    const chosen = early;
    early = null;
    if (!found) return;
    const rater = store.getState().rater || codeOfTab() || (found.rater ?? '');
    const kept = keptWith(found, startPrefs, chosen ?? {});
    store.setState({ ...startPrefs, ...withAccount({ ...kept, rater }) });
    stayWith(store.getState().rater);
  };
  /** Until null is said the code is that of the account in this tab, whatever is chosen here or in another tab. */
  const signedInAs = (code: string | null) => {
    account = code;
    if (code !== null) change({ rater: code });
  };
  /** The account that the code is tied to; null while it may be chosen. */
  const signedIn = () => account;
  return { ...store, change, load, signedInAs, signedIn };
}
