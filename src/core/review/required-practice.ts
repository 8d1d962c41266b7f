import type { Difficulty } from '../simulate/lessons';

/** What a rater must have practised before a review can be changed. */
export interface RequiredPractice {
  /** Share of a lesson's points, in percent. */
  readonly passPercent: number;
  /** Of that lesson, at least. */
  readonly difficulty: Difficulty;
}

/** The same asked twice is asked once, in the order in which it comes. */
export function joinedPractice(asked: readonly RequiredPractice[]): readonly RequiredPractice[] {
  return [...new Map(asked.map(r => [`${r.passPercent} ${r.difficulty}`, r])).values()];
}

/** A session that is here, with what another copy of it asks for besides: a copy that asks for less takes nothing away. */
export function askingAs<S extends { readonly requiredPractice?: readonly RequiredPractice[] }>(here: S, other: S): S {
  const before = here.requiredPractice ?? [];
  const all = joinedPractice([...before, ...(other.requiredPractice ?? [])]);
  return all.length > before.length ? { ...here, requiredPractice: all } : here;
}
