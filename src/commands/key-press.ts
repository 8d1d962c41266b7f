import type { KeyCaps } from '../state/stores/key-caps-store';
import { positionOf, signAt } from './positions';

export interface KeyPress {
  readonly key: string;
  /** The key's place on the keyboard, as KeyboardEvent.code has it; absent where a device does not tell. */
  readonly code?: string;
  readonly shiftKey: boolean;
  readonly ctrlKey: boolean;
  readonly metaKey: boolean;
  readonly altKey: boolean;
  getModifierState?(modifier: 'AltGraph'): boolean;
}

const named = new Set(['Enter', 'Escape', 'Delete', 'Backspace', 'Tab', 'Home', 'End', 'PageUp', 'PageDown']);
const isLetter = (key: string) => /^\p{L}$/u.test(key);

/**
 * The name of a key press by what is printed on the key: 'k', 'Shift+k', 'Mod+z', 'ArrowLeft', '?'. Shift is written for
 * letters and named keys; for signs the sign itself says it ('?', '<'). Mod is Control or Command. Alt combinations belong
 * to the browser and give '', unless Alt or AltGr is what it takes to type a sign.
 */
export function keyPressed(press: KeyPress): string {
  if (press.key === 'Shift' || press.key === 'Control' || press.key === 'Meta' || press.key === 'AltGraph') return '';
  const typed = isTypedSign(press);
  if (press.altKey && !typed) return '';
  const letter = isLetter(press.key);
  const key = press.key === ' ' ? 'Space' : letter ? press.key.toLowerCase() : press.key;
  const shift = press.shiftKey && (letter || key === 'Space' || named.has(key) || /^(Arrow|F\d)/.test(key));
  return `${!typed && (press.ctrlKey || press.metaKey) ? 'Mod+' : ''}${shift ? 'Shift+' : ''}${key}`;
}

/** A sign for which this layout needs AltGr, which Windows reports as Control and Alt, or Option. */
function isTypedSign(press: KeyPress): boolean {
  if (!press.altKey || press.metaKey || !/^[!-/:-@[-`{-~]$/.test(press.key)) return false;
  if (press.ctrlKey) return press.getModifierState?.('AltGraph') ?? false;
  return press.key !== signAt(press.code ?? '', press.shiftKey);
}

/**
 * The names that a key press may go by, in this order: what is printed on the key, then what a keyboard with Latin letters
 * has in its place. The second is for letters of other scripts and for signs that a layout has elsewhere; a Latin letter
 * is always itself.
 */
export function keyNames(press: KeyPress): readonly string[] {
  const name = keyPressed(press);
  if (name === '' || /^[a-zA-Z]$/.test(press.key)) return name === '' ? [] : [name];
  if (press.key.length > 1 && press.key !== 'Dead') return [name];
  const there = press.altKey ? null : signAt(press.code ?? '', press.shiftKey);
  if (there === null || there === press.key) return [name];
  const shift = press.shiftKey && isLetter(there) ? 'Shift+' : '';
  return [name, `${press.ctrlKey || press.metaKey ? 'Mod+' : ''}${shift}${there}`];
}

/** The name to keep for a command: one that holds in every script. */
export function nameToKeep(press: KeyPress): string {
  const [name = '', there] = keyNames(press);
  return there !== undefined && !/^[!-~]$/.test(press.key) ? there : name;
}

const shown: Record<string, string> = {
  ArrowLeft: '←',
  ArrowRight: '→',
  ArrowUp: '↑',
  ArrowDown: '↓',
  Mod: 'Ctrl',
  PageUp: 'Page Up',
  PageDown: 'Page Down',
};

const none: KeyCaps = new Map();

/** A key as people read it on their own keyboard. */
export function keyLabel(key: string, caps: KeyCaps = none): string {
  if (key === '+') return '+';
  return key
    .split(/\+(?=.)/)
    .map(part => shown[part] ?? onCaps(part, caps))
    .join(' ');
}

/** Signs that many layouts have only with AltGr. */
const behindAltGr = new Set(['[', ']', '{', '}', '\\']);
/** Signs that are commands wherever they are printed: their place is taken. */
const taken = new Set(['+', '=', '-', ',', '.', '<', '>', '?', '!']);

function onCaps(part: string, caps: KeyCaps): string {
  const at = part.length === 1 ? positionOf(part) : null;
  const cap = at && caps.get(at.code);
  const printed = upper(part);
  if (!at || !cap || [...caps.values()].includes(part)) return printed;
  if (/^[a-z]$/.test(part)) return upper(cap);
  const otherScript = !/^[a-z]$/.test(caps.get('KeyJ') ?? 'j') && /^[<>]$/.test(part);
  if (cap === signAt(at.code, false) || !(behindAltGr.has(part) || otherScript)) return printed;
  if (at.shift) return `Shift ${upper(cap)}`;
  return taken.has(cap) ? printed : upper(cap);
}

const upper = (cap: string) => (/^\p{Ll}$/u.test(cap) ? cap.toUpperCase() : cap);
