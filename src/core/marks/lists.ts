import type { SampleIndex, Span } from '../units';
import { type Marks, MarksInPlace, replace } from './markset';
import { firstEndingAfter } from './spans';

/** Items of one kind: what tells them apart, and where they stand. */
export interface ItemKind<T> {
  readonly key: (item: T) => string;
  readonly position: (item: T) => number;
}

/**
 * How the lists of a review are changed. Whatever does not fit (removing what is absent, adding what is there) is a bug or
 * a damaged log: it throws a RangeError.
 */
export interface ListChanges {
  marks(marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]): Marks;
  /** `list` is normalised, and so is what comes back. */
  spans(list: readonly Span[], removed: readonly Span[], added: readonly Span[]): readonly Span[];
  /** Sorted by position, then key. */
  items<T>(list: readonly T[], before: T | null, after: T | null, kind: ItemKind<T>): readonly T[];
}

/** Leaves what it is given alone: one edit on a review that is shown. */
export const copyLists: ListChanges = {
  marks: replace,
  spans: (list, removed, added) => swapSpans([...list], removed, added),
  items: (list, before, after, kind) => {
    const copy = [...list];
    return swapItem(copy, key => copy.some(item => kind.key(item) === key), before, after, kind);
  },
};

/**
 * Changes in place what it gave last, which is no longer valid afterwards; anything else is copied first. For replaying
 * thousands of entries, of which only the last state is kept.
 */
export class ListsInPlace implements ListChanges {
  private readonly places = new Map<Marks, MarksInPlace>();
  private readonly own = new WeakSet<readonly Span[]>();
  private readonly keys = new WeakMap<readonly unknown[], Set<string>>();

  marks(marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]): Marks {
    const place = this.places.get(marks) ?? new MarksInPlace();
    this.places.delete(marks);
    const changed = place.replace(marks, removed, added);
    this.places.set(changed, place);
    return changed;
  }

  spans(list: readonly Span[], removed: readonly Span[], added: readonly Span[]): readonly Span[] {
    const own = this.own.has(list) ? (list as Span[]) : [...list];
    this.own.add(own);
    return swapSpans(own, removed, added);
  }

  items<T>(list: readonly T[], before: T | null, after: T | null, kind: ItemKind<T>): readonly T[] {
    const known = this.keys.get(list);
    const own = known ? (list as T[]) : [...list];
    const keys = known ?? new Set(own.map(kind.key));
    this.keys.set(own, keys);
    swapItem(own, key => keys.has(key), before, after, kind);
    if (before !== null) keys.delete(kind.key(before));
    if (after !== null) keys.add(kind.key(after));
    return own;
  }
}

function swapSpans(list: Span[], removed: readonly Span[], added: readonly Span[]): Span[] {
  for (const r of removed) {
    const i = firstEndingAfter(list, r.start);
    if (list[i]?.start !== r.start || list[i].end !== r.end)
      throw new RangeError('a span to remove is not in the list');
    list.splice(i, 1);
  }
  for (const a of added) {
    // Touching counts as overlapping: a normalised list would have joined the two.
    const i = firstEndingAfter(list, a.start - 1);
    const fits = a.start < a.end && (list[i]?.start ?? Number.POSITIVE_INFINITY) > a.end;
    if (!fits) throw new RangeError('an added span overlaps or touches one that is kept');
    list.splice(i, 0, a);
  }
  return list;
}

function swapItem<T>(
  list: T[],
  isThere: (key: string) => boolean,
  before: T | null,
  after: T | null,
  kind: ItemKind<T>,
): T[] {
  const old = before === null ? null : kind.key(before);
  const now = after === null ? null : kind.key(after);
  if (old !== null && !isThere(old)) throw new RangeError(`nothing to replace: ${old}`);
  if (now !== null && now !== old && isThere(now)) throw new RangeError(`already there: ${now}`);
  if (before !== null) list.splice(indexOf(list, before, kind), 1);
  if (after !== null) list.splice(placeFor(list, after, kind), 0, after);
  return list;
}

function indexOf<T>(list: readonly T[], item: T, kind: ItemKind<T>): number {
  const i = placeFor(list, item, kind);
  const key = kind.key(item);
  // An entry by other hands may name the item at another place than it has.
  return i < list.length && kind.key(list[i]!) === key ? i : list.findIndex(other => kind.key(other) === key);
}

/** Index of the first item that does not stand before `item`. */
function placeFor<T>(list: readonly T[], item: T, { key, position }: ItemKind<T>): number {
  const at = position(item);
  const name = key(item);
  let lo = 0;
  let hi = list.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    const other = position(list[mid]!);
    if (other < at || (other === at && key(list[mid]!) < name)) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}
