import { models } from './model';
import type { Finding } from './reasons';

/** A place is about a mark that may be wrong or extra, or about a stretch in which a beat may be missing. */
export type About = 'mark' | 'gap';

/** The chance of a mistake at a place, by logistic regression on what speaks against it. */
export function probability(about: About, findings: readonly Finding[], secondRan = true): number {
  const constant = models[about].constant + (secondRan ? 0 : silence);
  return 1 / (1 + Math.exp(-findings.reduce((sum, f) => sum + weightOf(about, f), constant)));
}

/** The fit is made with a second detector, whose silence speaks for the marks; where none ran, that much is missing. */
const silence = 2;

/** What a finding adds to the log-odds of a mistake. */
export function weightOf(about: About, finding: Finding): number {
  return (models[about].reasons[finding.reason] ?? 0) * finding.strength;
}
