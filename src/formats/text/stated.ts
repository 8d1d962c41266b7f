/** Facts that a comment or header states in words. */

const startWords = /\b(?:first (?:mark|beat|peak)|start)\b\D{0,8}?(\d+(?:\.\d+)?) *(ms|s)\b/i;
/** Between the words and the number a cell may end, but none lies there; a number that ends a name is none: `fs,lead1`. */
const rateWords =
  /\b(?:fs|sampling[ _]?(?:rate|frequency)|sample[ _]?rate)\b[^\d,;\t]{0,7}?[,;\t]*["' ]*(?<![a-z])(\d+(?:[.,]\d+)?)(?: *(k?hz)\b)?/i;

/** Seconds in a comment such as `first mark at 0.108 s` or `start: 250 ms`; null when no comment says it. */
export function statedStart(comments: readonly string[]): number | null {
  for (const comment of comments) {
    const found = startWords.exec(comment);
    if (found) return Number(found[1]) / (found[2]?.toLowerCase() === 'ms' ? 1000 : 1);
  }
  return null;
}

/**
 * Rates in Hz in comments and lines above the rows: `fs = 250`, `sampling rate: 0.25 kHz`. Where lines say different ones,
 * those of lines that name the ECG; without such lines, all of them.
 */
export function statedRates(lines: readonly string[]): readonly number[] {
  const all = lines.flatMap(line => {
    const [, number, unit = 'Hz'] = rateWords.exec(line) ?? [];
    const rate = number === undefined ? 0 : inHz(number, /^k/i.test(unit) ? 1000 : 1);
    return rate > 0 && rate <= 1e6 ? [{ rate, ofEcg: /e[ck]g/i.test(line) }] : [];
  });
  const distinct = (some: typeof all) => [...new Set(some.map(r => r.rate))];
  const ofEcg = distinct(all.filter(r => r.ofEcg));
  return ofEcg.length > 0 ? ofEcg : distinct(all);
}

/** A comma is the decimal mark, unless it would make a rate that no ECG has: `1,000 Hz`. */
function inHz(number: string, perUnit: number): number {
  const rate = Number((Number(number.replace(',', '.')) * perUnit).toPrecision(12));
  return rate < leastRateHz && /^[1-9]\d*,\d{3}$/.test(number) ? Number(number.replace(',', '')) * perUnit : rate;
}

const leastRateHz = 20;

/** A comment without such facts, which name no column: what is left may. */
export function withoutFacts(comment: string): string {
  return comment.replace(startWords, '').replace(rateWords, '');
}
