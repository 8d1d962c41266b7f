import { createStore } from 'zustand/vanilla';

/** What is printed on the keys, unshifted, by KeyboardEvent.code; empty where it is not known. */
export type KeyCaps = ReadonlyMap<string, string>;

type Press = Pick<KeyboardEvent, 'key' | 'shiftKey' | 'ctrlKey' | 'altKey' | 'metaKey'> & { readonly code?: string };

/** Codes in the order of the rows below. */
const rows = [
  'KeyQ KeyW KeyE KeyR KeyT KeyY KeyU KeyI KeyO KeyP BracketLeft BracketRight',
  'KeyA KeyS KeyD KeyF KeyG KeyH KeyJ KeyK KeyL Semicolon Quote',
  'KeyZ KeyX KeyC KeyV KeyB KeyN KeyM Comma Period',
]
  .join(' ')
  .split(' ');

/** National layouts of other scripts: browsers tell only the Latin one beside them. */
const scripts: readonly (readonly [RegExp, readonly string[]])[] = [
  [/^\p{Script=Cyrillic}$/u, [...'йцукенгшщзхъфывапролджэячсмитьбю']],
  [/^\p{Script=Greek}$/u, [...";ςερτυθιοπ[]ασδφγηξκλ΄'ζχψωβνμ,."]],
];

const isOtherScript = (cap = '') => scripts.some(([letters]) => letters.test(cap));

export type KeyCapsStore = ReturnType<typeof createKeyCaps>;

/**
 * What is printed on this keyboard. The browser says it where it can; every key pressed says it for its own place, and
 * the first letter of another script for the rest of that script's layout.
 */
export function createKeyCaps() {
  const store = createStore<{ readonly caps: KeyCaps }>(() => ({ caps: new Map() }));
  const set = (more: Iterable<readonly [string, string]>) =>
    store.setState(({ caps }) => ({ caps: new Map([...caps, ...more]) }));
  return {
    getState: store.getState,
    subscribe: store.subscribe,
    /** Asks the browser. */
    async ask(keyboard = (globalThis.navigator as WithKeyboard | undefined)?.keyboard): Promise<void> {
      const map = await keyboard?.getLayoutMap().catch(() => undefined);
      if (map) set([...map].filter(([, cap]) => cap.length === 1));
    },
    /** Learns from a key press. */
    learn({ key, code = '', shiftKey, ctrlKey, altKey, metaKey }: Press): void {
      const plain = !shiftKey && !ctrlKey && !altKey && !metaKey && /^\p{L}$/u.test(key);
      if (!plain || !/^(Key|Digit|Bracket|Semi|Quote|Comma|Period|Minus|Equal|Slash|Back)/.test(code)) return;
      if (store.getState().caps.get(code) === key) return;
      // Back from another script: what it had on the other keys no longer holds.
      if (/^[a-z]$/.test(key) && isOtherScript(store.getState().caps.get(code)))
        store.setState(({ caps }) => ({ caps: new Map([...caps].filter(([, cap]) => !isOtherScript(cap))) }));
      const script = scripts.find(([letters]) => letters.test(key))?.[1] ?? [];
      set([...script.map((cap, i) => [rows[i]!, cap] as const), [code, key]]);
    },
  };
}

interface WithKeyboard {
  readonly keyboard?: { getLayoutMap(): Promise<ReadonlyMap<string, string>> };
}
