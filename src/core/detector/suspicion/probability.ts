import { models, modelsAlone } from './model';
import type { Finding } from './reasons';

/** A place is about a mark that may be wrong or extra, or about a stretch in which a beat may be missing. */
export type About = 'mark' | 'gap';

/**
 * The chance of a mistake at a place, by logistic regression on what speaks against it. Where no second detector ran, a
 * fit that knew of none: its silence speaks for the marks, and where it speaks, intervals say little more.
 */
export function probability(about: About, findings: readonly Finding[], secondRan = true): number {
  const { constant } = modelOf(about, secondRan);
  return 1 / (1 + Math.exp(-findings.reduce((sum, f) => sum + weightOf(about, f, secondRan), constant)));
}

/** What a finding adds to the log-odds of a mistake. */
export function weightOf(about: About, finding: Finding, secondRan = true): number {
  return (modelOf(about, secondRan).reasons[finding.reason] ?? 0) * finding.strength;
}

function modelOf(about: About, secondRan: boolean) {
  return (secondRan ? models : modelsAlone)[about];
}
