/** Facts that a comment or header states in words. */

const startWords = /\b(?:first (?:mark|beat|peak)|start)\b\D{0,8}?(\d+(?:\.\d+)?) *(ms|s)\b/i;
const rateWords = /\b(?:fs|sampling[ _]?(?:rate|frequency)|sample[ _]?rate)\b\D{0,8}?(\d+(?:\.\d+)?)(?: *hz\b)?/i;

/** Seconds in a comment such as `first mark at 0.108 s` or `start: 250 ms`; null when no comment says it. */
export function statedStart(comments: readonly string[]): number | null {
  for (const comment of comments) {
    const found = startWords.exec(comment);
    if (found) return Number(found[1]) / (found[2]?.toLowerCase() === 'ms' ? 1000 : 1);
  }
  return null;
}

/** A rate in Hz in a comment or header: `fs = 250`, `sampling rate: 250 Hz`; null when none says it. */
export function statedRate(lines: readonly string[]): number | null {
  for (const line of lines) {
    const rate = Number(rateWords.exec(line)?.[1]);
    if (rate > 0 && rate <= 1e6) return rate;
  }
  return null;
}

/** A comment without such facts, which name no column: what is left may. */
export function withoutFacts(comment: string): string {
  return comment.replace(startWords, '').replace(rateWords, '');
}
