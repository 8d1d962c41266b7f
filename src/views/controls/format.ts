import { percentText } from '../../core/score/percent-text';
import type { Computed } from '../../core/score/result';

/** Numbers as people read them: fixed places, and a dash with the reason where there is none. */
export function percent(result: Computed, part: number): string {
  if (result.value === null) return 'not computable';
  // Blanks that do not break: a narrow cell keeps the count on one line.
  return `${percentText(result.value, 1)} % (${part}\u00a0of\u00a0${result.n})`;
}

export function reasonTitle(result: Computed): string | undefined {
  return result.value === null ? result.reason : undefined;
}
