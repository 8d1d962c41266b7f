/**
 * How a study's files are named: a pattern with {participant}, {recorder}, {activity} and {date} where those stand,
 * {ignore} for a part that says nothing, * for anything or nothing, and fixed text anywhere between. It is held against the
 * path without its ending; what comes before the last folders it names does not matter, nor do capitals in fixed text.
 */
export interface NamedFile {
  readonly participant: string;
  readonly recorder: string | null;
  readonly activity: string | null;
  /** `YYYY-MM-DD`; null where the name has none. */
  readonly date: string | null;
}

export const defaultNamingPattern = '{participant}_{recorder}*';

const places = ['participant', 'recorder', 'activity', 'date'] as const;
const known: readonly string[] = [...places, 'ignore'];

/** The patterns of a study, one a line; files of two recorders rarely share one. */
export function patternsOf(text: string): string[] {
  return text.split('\n').flatMap(line => line.trim() || []);
}

/** What is wrong with a pattern, in words; null when it can be used. */
export function patternProblem(pattern: string): string | null {
  const named = [...pattern.matchAll(/\{([^}]*)\}/g)].map(m => m[1]!);
  const unknown = named.find(n => !known.includes(n));
  if (unknown !== undefined)
    return `{${unknown}} is not known: there are {participant}, {recorder}, {activity}, {date} and {ignore}.`;
  if (!named.includes('participant')) return '{participant} is required: without it files cannot be told apart.';
  const names = named.filter(n => n !== 'ignore');
  if (new Set(names).size < names.length) return 'A placeholder is used twice.';
  if (/\}\{/.test(pattern)) return 'Two placeholders touch: put a character between them.';
  return /\*[{*]/.test(pattern) ? 'Put a character between * and what follows it.' : null;
}

/** The first problem of several patterns, with the line where there are several. */
export function patternsProblem(text: string): string | null {
  const patterns = patternsOf(text);
  if (patterns.length === 0) return 'A pattern is needed, for example {participant}_{recorder}*.';
  for (const pattern of patterns) {
    const problem = patternProblem(pattern);
    if (problem !== null) return patterns.length > 1 ? `${pattern}: ${problem}` : problem;
  }
  return null;
}

/** What a path says by the first of several patterns that it fits, and which that is, from 0; null when it fits none. */
export function readNameBy(patterns: readonly string[], path: string): { named: NamedFile; pattern: number } | null {
  for (const [i, pattern] of patterns.entries()) {
    const named = readName(pattern, path);
    if (named) return { named, pattern: i };
  }
  return null;
}

/** What a path says; null when it does not fit the pattern. Spaces, underscores and hyphens inside a name stay. */
export function readName(pattern: string, path: string): NamedFile | null {
  if (patternProblem(pattern)) return null;
  const stem = path.replace(/\.gz$/i, '').replace(/\.[^./]*$/, '');
  const folders = pattern.split('/').length;
  const part = stem.split('/').slice(-folders).join('/');
  const found = expression(pattern).exec(part)?.groups;
  if (!found?.['participant']?.trim()) return null;
  const date = found['date'] === undefined ? null : dateOf(found['date']);
  if (date === null && found['date'] !== undefined) return null;
  const name = (key: string) => found[key]?.trim().replaceAll('_', ' ') || null;
  return { participant: found['participant'].trim(), recorder: name('recorder'), activity: name('activity'), date };
}

const dateDigits = String.raw`\d{4}[-._]?\d\d[-._]?\d\d|\d\d[-._]\d\d[-._]\d{4}`;

/** A name ends at the first sign that follows it in the pattern; the last one runs on. */
function expression(pattern: string): RegExp {
  const parts = pattern.split(/(\{[^}]*\}|\*)/);
  const source = parts.map((part, i) => {
    if (part === '*') return '[^/]*';
    if (!part.startsWith('{')) return part.replace(/[.+?^${}()|[\]\\]/g, '\\$&');
    const name = part.slice(1, -1);
    if (name === 'date') return `(?<date>${dateDigits})`;
    const next = parts.slice(i + 1).find(p => p !== '') ?? '';
    const stop = next === '' ? '/' : next === '*' ? '/_.' : `/${next[0]!.replace(/[\]\\^-]/g, '\\$&')}`;
    return name === 'ignore' ? `[^${stop}]+` : `(?<${name}>[^${stop}]+)`;
  });
  return new RegExp(`^${source.join('')}$`, 'iu');
}

/** Year first, or day first with separators (ISO 8601; common practice); null for a day that does not exist. */
function dateOf(text: string): string | null {
  const yearFirst = /^(\d{4})[-._]?(\d\d)[-._]?(\d\d)$/.exec(text);
  const dayFirst = /^(\d\d)[-._](\d\d)[-._](\d{4})$/.exec(text);
  const [year, month, day] = yearFirst ? yearFirst.slice(1) : (dayFirst?.slice(1).reverse() ?? []);
  const date = `${year}-${month}-${day}`;
  const time = Date.parse(`${date}T00:00:00Z`);
  return Number.isFinite(time) && new Date(time).toISOString().startsWith(date) ? date : null;
}
