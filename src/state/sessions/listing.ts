import type { CatalogueEntry } from '../../storage/sessions';

export interface SessionProgress {
  /** Null before the own review was begun. */
  readonly own: {
    readonly entries: number;
    /** Share looked at of all recordings, in [0, 1]. */
    readonly lookedAtShare: number;
    readonly signedOffSegments: number;
    readonly segments: number;
    readonly finished: boolean;
  } | null;
  /** Codes of the other raters. */
  readonly others: readonly string[];
}

export const reviewStates = ['not begun', 'begun', 'signed off', 'finished'] as const;
export type ListedState = (typeof reviewStates)[number];

export const sessionOrders = ['last changed', 'title', 'length', 'least looked at'] as const;

/** What the list of sessions shows, and how. */
export interface ListChoice {
  /** Words that must all occur in title, volunteer, recorders, segments or study. */
  readonly text: string;
  readonly state: ListedState | 'all';
  readonly order: (typeof sessionOrders)[number];
  readonly byStudy: boolean;
}

export const allSessions: ListChoice = { text: '', state: 'all', order: 'last changed', byStudy: false };

type Known = ReadonlyMap<string, SessionProgress>;

export function reviewState({ own }: SessionProgress): ListedState {
  if (!own) return 'not begun';
  if (own.finished) return 'finished';
  return own.signedOffSegments === own.segments ? 'signed off' : 'begun';
}

interface InStudies {
  readonly title: string;
  readonly sessions: readonly string[];
}

/** The sessions that are asked for, in the order asked for. Those whose progress is not known yet are in no state. */
export function chosenSessions(
  sessions: readonly CatalogueEntry[],
  known: Known,
  studies: readonly InStudies[],
  choice: ListChoice,
): readonly CatalogueEntry[] {
  const words = choice.text.toLowerCase().split(/\s+/).filter(Boolean);
  const studyOf = new Map<string, string>();
  for (const { title, sessions: ids } of studies)
    for (const id of ids) studyOf.set(id, `${studyOf.get(id) ?? ''} ${title}`);
  const matches = (s: CatalogueEntry) => {
    const where = [s.title, s.participant, ...s.recorders, ...s.segmentNames, studyOf.get(s.id) ?? '']
      .join(' ')
      .toLowerCase();
    const progress = known.get(s.id);
    const inState = choice.state === 'all' || (progress !== undefined && reviewState(progress) === choice.state);
    return inState && words.every(w => where.includes(w));
  };
  return sessions.filter(matches).sort(comparisons(known)[choice.order]);
}

const titles = new Intl.Collator('en', { numeric: true });

function comparisons(known: Known): Record<ListChoice['order'], (a: CatalogueEntry, b: CatalogueEntry) => number> {
  const byTitle = (a: CatalogueEntry, b: CatalogueEntry) => titles.compare(a.title, b.title);
  const looked = (s: CatalogueEntry) => known.get(s.id)?.own?.lookedAtShare ?? 0;
  return {
    'last changed': (a, b) => (a.savedAt === b.savedAt ? byTitle(a, b) : a.savedAt < b.savedAt ? 1 : -1),
    title: byTitle,
    length: (a, b) => b.durationSeconds - a.durationSeconds || byTitle(a, b),
    'least looked at': (a, b) => looked(a) - looked(b) || byTitle(a, b),
  };
}

export interface SessionGroup {
  /** Null for sessions in no study. */
  readonly study: string | null;
  readonly sessions: readonly CatalogueEntry[];
}

/** The sessions of each study, then those in none, each in the order given. A session of two studies is in both. */
export function groupsByStudy(sessions: readonly CatalogueEntry[], studies: readonly InStudies[]): SessionGroup[] {
  const inSome = new Set(studies.flatMap(s => s.sessions));
  const groups = [...studies]
    .sort((a, b) => titles.compare(a.title, b.title))
    .map(({ title, sessions: ids }) => {
      const own = new Set(ids);
      return { study: title, sessions: sessions.filter(s => own.has(s.id)) };
    });
  const others = { study: null, sessions: sessions.filter(s => !inSome.has(s.id)) };
  return [...groups, others].filter(g => g.sessions.length > 0);
}
