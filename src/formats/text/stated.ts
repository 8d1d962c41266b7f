import { isUsualRate } from './pace';

/** Facts that a comment or header states in words. */

const startWords = /\b(?:first (?:mark|beat|peak)|start)\b\D{0,8}?(\d+(?:\.\d+)?) *(ms|s)\b/i;

const number = String.raw`(\d+(?:[.,]\d+)?)`;
const unitBefore = String.raw`(?:[ _]*(?:in )?[([]?(k?hz)\b[)\]]?)?`;
const unitAfter = String.raw`(?: *(k?hz)\b)?`;
/** Between the words and the number a cell may end, but none lies there; a number that ends a name is none: `fs,lead1`. */
const between = String.raw`[^\d,;\t]{0,7}?[,;\t]*["' ]*(?<![a-z])`;
const rateName = String.raw`\b(?:sampl(?:ing|e)[ _]?(?:rate|freq(?:uency)?)|abtast(?:rate|frequenz))(?![a-z])`;

/**
 * A rate said by a name, of which `fs` alone is too short: behind it stands a sign, the end of a cell or a unit, as a device
 * may be called FS 2000. Groups: unit before the number, number, unit behind it.
 */
const rateWords = [
  new RegExp(rateName + unitBefore + between + number + unitAfter, 'i'),
  new RegExp(String.raw`\bfs(?![a-z])${unitBefore}[^\d,;\t:=]{0,7}?(?:[:=]|[,;\t]+)["' ]*${number}${unitAfter}`, 'i'),
  new RegExp(String.raw`\bfs[ _]*(?:in )?[([]?(k?hz)\b[)\]]? +${number}${unitAfter}`, 'i'),
  new RegExp(String.raw`\bfs() +${number} *(k?hz)\b`, 'i'),
];

/** A rate that only its unit or its line says: `# fs 250`, `250 Hz`, `ECG (250 Hz)`, `sampled at 250 Hz`. */
const bareRate = [
  new RegExp(String.raw`^[\s#%/;"']*fs() +${number}()["'\s]*$`, 'gi'),
  new RegExp(String.raw`(?:^[\s#%/;"']*|[(@] *|\bat +)()${number} *(k?hz)\b(?=["'\s.]*$| *[),;\t])`, 'gi'),
];
/** What else has a frequency: filters, mains, the heart. */
const otherFrequency = /filter|notch|pass|cut-?off|band|mains|netz|hum\b|line|heart|puls|herz|resp|bpm|acc|gyro|temp/i;

/** Seconds in a comment such as `first mark at 0.108 s` or `start: 250 ms`; null when no comment says it. */
export function statedStart(comments: readonly string[]): number | null {
  for (const comment of comments) {
    const found = startWords.exec(comment);
    if (found) return Number(found[1]) / (found[2]?.toLowerCase() === 'ms' ? 1000 : 1);
  }
  return null;
}

export interface StatedRates {
  /** In Hz, each once. */
  readonly rates: readonly number[];
  /** The words of a rate that no name says, to be shown; null of any other. */
  readonly bare: string | null;
}

/**
 * Rates in comments and lines above the rows: `fs = 250`, `sampling rate: 0.25 kHz`. Where lines say different ones, those of
 * lines that name the ECG; without such lines, all of them. Without a name, a usual rate with its unit.
 */
export function statedRates(lines: readonly string[]): StatedRates {
  const named = lines.flatMap(line =>
    ratesIn(
      line,
      rateWords
        .map(p => p.exec(line))
        .filter(f => f !== null)
        .slice(0, 1),
    ),
  );
  if (named.length > 0) {
    const ofEcg = distinct(named.filter(r => r.ofEcg));
    return { rates: ofEcg.length > 0 ? ofEcg : distinct(named), bare: null };
  }
  const bare = lines
    .filter(line => !otherFrequency.test(line))
    .flatMap(line =>
      ratesIn(
        line,
        bareRate.flatMap(p => [...line.matchAll(p)]),
      ),
    )
    .filter(r => isUsualRate(r.rate) && !mainsHz.includes(r.rate));
  return { rates: distinct(bare), bare: bare[0]?.words ?? null };
}

interface FoundRate {
  readonly rate: number;
  readonly ofEcg: boolean;
  readonly words: string;
}

const distinct = (found: readonly FoundRate[]) => [...new Set(found.map(r => r.rate))];
const mainsHz: readonly number[] = [50, 60];

function ratesIn(line: string, matches: readonly RegExpExecArray[]): FoundRate[] {
  return matches.flatMap(([, before, text, after]) => {
    const rate = inHz(text!, /^k/i.test(after || before || '') ? 1000 : 1);
    return rate > 0 && rate <= 1e6 ? [{ rate, ofEcg: /e[ck]g/i.test(line), words: line.trim().slice(0, 60) }] : [];
  });
}

/** A comma is the decimal mark, unless it would make a rate that no ECG has: `1,000 Hz`. */
function inHz(text: string, perUnit: number): number {
  const rate = Number((Number(text.replace(',', '.')) * perUnit).toPrecision(12));
  return rate < leastStatedHz && /^[1-9]\d*,\d{3}$/.test(text) ? Number(text.replace(',', '')) * perUnit : rate;
}

const leastStatedHz = 20;

/** A comment without such facts, which name no column: what is left may. */
export function withoutFacts(comment: string): string {
  return [startWords, ...rateWords, ...bareRate].reduce((text, fact) => text.replace(fact, ''), comment);
}
