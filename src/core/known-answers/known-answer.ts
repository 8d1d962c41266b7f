/** Named numbers and words, e.g. { missed: 1, 'quality %': 80 }. */
export type Readings = Readonly<Record<string, number | string | null>>;

/** An example whose answer is known from outside the code under check. */
export interface KnownAnswer {
  readonly topic: string;
  readonly example: string;
  /** Where the expected answer comes from. */
  readonly source: string;
  readonly expected: Readings;
  /** How far a number may lie from the expected one, as when a paper prints two decimals; 0 means exactly. */
  readonly within: number;
  /** Computes the same readings. */
  find(): Readings | Promise<Readings>;
}

/** What came of one example, in words for a table. */
export interface CheckFinding {
  readonly topic: string;
  readonly example: string;
  readonly source: string;
  readonly expected: string;
  readonly found: string;
  readonly agrees: boolean;
}

/** Computes each example here and now. One that fails is a finding that does not agree, never an error. */
export async function checkAnswers(answers: readonly KnownAnswer[]): Promise<CheckFinding[]> {
  const findings: CheckFinding[] = [];
  for (const answer of answers) findings.push(await findingOf(answer));
  return findings;
}

async function findingOf({ topic, example, source, expected, within, find }: KnownAnswer): Promise<CheckFinding> {
  const row = { topic, example, source, expected: inWords(expected, 12) };
  try {
    const found = await find();
    const agrees = Object.entries(expected).every(([name, value]) => same(value, found[name], within));
    // What agrees is shown as short as it was expected; a difference is shown in full.
    return { ...row, found: inWords(found, agrees ? 6 : 17), agrees };
  } catch (error) {
    return { ...row, found: `failed: ${(error as Error).message}`, agrees: false };
  }
}

function same(expected: Readings[string], found: Readings[string] | undefined, within: number): boolean {
  if (typeof expected !== 'number' || typeof found !== 'number') return expected === found;
  return Math.abs(found - expected) <= within;
}

function inWords(readings: Readings, digits: number): string {
  const shown = (value: Readings[string]) => (typeof value === 'number' ? Number(value.toPrecision(digits)) : value);
  return Object.entries(readings)
    .map(([name, value]) => `${name} ${value === null ? 'none' : shown(value)}`)
    .join(', ');
}

/** The findings as lines for a study's notes: a head, then one tab-separated row an example. */
export function findingsText(findings: readonly CheckFinding[], head: readonly string[]): string {
  const rows = findings.map(f => [f.topic, f.example, f.expected, f.found, f.agrees ? 'yes' : 'NO', f.source]);
  return [
    ...head,
    agreementSentence(findings),
    '',
    ...[['topic', 'example', 'expected', 'found', 'agrees', 'source'], ...rows].map(cells => cells.join('\t')),
  ].join('\n');
}

export function agreementSentence(findings: readonly CheckFinding[]): string {
  const wrong = findings.filter(f => !f.agrees).length;
  if (wrong === 0) return `All ${findings.length} examples agree.`;
  return `${wrong} of ${findings.length} examples do not agree: do not use numbers computed here.`;
}
