/**
 * How a study's files are named: a pattern with {participant}, {recorder} and {activity} where those stand, and * for
 * anything. It is held against the path without its ending; what comes before the last folders it names does not matter.
 */
export interface NamedFile {
  readonly participant: string;
  readonly recorder: string | null;
  readonly activity: string | null;
}

export const defaultNamingPattern = '{participant}_{recorder}*';

const places = ['participant', 'recorder', 'activity'] as const;

/** What is wrong with a pattern, in words; null when it can be used. */
export function patternProblem(pattern: string): string | null {
  const named = [...pattern.matchAll(/\{([^}]*)\}/g)].map(m => m[1]!);
  const unknown = named.find(n => !places.some(p => p === n));
  if (unknown !== undefined) return `{${unknown}} is not known: there are {participant}, {recorder} and {activity}.`;
  if (!named.includes('participant')) return '{participant} is required: without it files cannot be told apart.';
  if (new Set(named).size < named.length) return 'A placeholder is used twice.';
  return /\}\{/.test(pattern) ? 'Two placeholders touch: put a character between them.' : null;
}

/** What a path says; null when it does not fit the pattern. Spaces, underscores and hyphens inside a name stay. */
export function readName(pattern: string, path: string): NamedFile | null {
  if (patternProblem(pattern)) return null;
  const stem = path.replace(/\.gz$/i, '').replace(/\.[^./]*$/, '');
  const folders = pattern.split('/').length;
  const part = stem.split('/').slice(-folders).join('/');
  const found = expression(pattern).exec(part)?.groups;
  if (!found?.['participant']) return null;
  const name = (key: string) => found[key]?.trim().replaceAll('_', ' ') || null;
  return { participant: found['participant'].trim(), recorder: name('recorder'), activity: name('activity') };
}

/** A name ends at the first sign that follows it in the pattern; the last one runs on. */
function expression(pattern: string): RegExp {
  const parts = pattern.split(/(\{[^}]*\}|\*)/);
  const source = parts.map((part, i) => {
    if (part === '*') return '(?:[_ .-].*)?';
    if (!part.startsWith('{')) return part.replace(/[.+?^${}()|[\]\\]/g, '\\$&');
    const next = parts.slice(i + 1).find(p => p !== '') ?? '';
    const stop = next === '' ? '/' : next === '*' ? '/_.' : `/${next[0]!.replace(/[\]\\^-]/g, '\\$&')}`;
    return `(?<${part.slice(1, -1)}>[^${stop}]+)`;
  });
  return new RegExp(`^${source.join('')}$`, 'u');
}
