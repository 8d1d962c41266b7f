import type { BootstrapResult } from '../core/score/bootstrap';
import { percentLimits, percentText } from '../core/score/percent-text';
import type { Computed, Estimate, Interval } from '../core/score/result';

/** Numbers of a report as people read them. */

export function fixed(value: number, places: number): string {
  const text = value.toFixed(places);
  return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', '−');
}

/** A text for the reason is left out here: tables collect the reasons in their notes. */
export function number(result: Computed | Estimate | BootstrapResult, places: number, note: NoteTaker): string {
  return result.value === null ? note(result.reason) : fixed(result.value, places);
}

export function interval(limits: Interval | null | undefined, places: number): string {
  return limits ? `${fixed(limits[0], places)} to ${fixed(limits[1], places)}` : '–';
}

/** Value and an interval in brackets. */
export function withInterval(value: number, limits: Interval | null, places: number): string {
  return limits ? `${fixed(value, places)} (${interval(limits, places)})` : fixed(value, places);
}

/** A quality in percent, which is not rounded to 100 or 0. */
export function quality(result: Computed | Estimate | BootstrapResult, places: number, note: NoteTaker): string {
  return result.value === null ? note(result.reason) : percentText(result.value, places);
}

/** The interval of a quality in percent, which holds that quality as it is rounded. */
export function qualityInterval(limits: Interval | null | undefined, places: number): string {
  return limits ? percentLimits(limits, places).join(' to ').replaceAll('-', '−') : '–';
}

/** Gives a reason a letter, and 'n.c.' with that letter for the cell. */
export type NoteTaker = (reason: string) => string;

export function noteTaker(): { note: NoteTaker; notes: () => string[] } {
  const reasons: string[] = [];
  return {
    note(reason) {
      let i = reasons.indexOf(reason);
      if (i < 0) i = reasons.push(reason) - 1;
      return `n.c. ${letters(i)}`;
    },
    notes: () => reasons.map((reason, i) => `n.c. ${letters(i)}: not computable, ${reason}.`),
  };
}

/** a, b, … z, aa, ab, … */
function letters(i: number): string {
  const last = String.fromCharCode(97 + (i % 26));
  return i < 26 ? last : letters(Math.floor(i / 26) - 1) + last;
}

/** With a capital at the start and a full stop at the end. */
export function sentence(words: string): string {
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}
