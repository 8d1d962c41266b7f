import { between } from '../../../src/core/marks/markset';
import { worthALook } from '../../../src/core/review/places/groups';
import type { Span } from '../../../src/core/units';
import { pageSpan, putCaret } from '../../../src/state/review/workspace';
import type { Rig } from './rig';
import { costOf, endZones, type Mistake, mistakesIn, type Truth } from './truth';

/** Keys pressed, by what they were for. */
export interface Tally {
  readonly keys: Record<string, number>;
  total: number;
}

/** A reviewer who knows the truth and presses the fewest keys of those allowed that put a mistake right. */
export interface Hands {
  readonly rig: Rig;
  readonly truth: Truth;
  readonly hz: number;
  readonly tally: Tally;
  /** Ways of getting about that this reviewer uses. */
  readonly steps: readonly string[];
}

/** Keys that correct, tried where the caret stands. */
const acts = [
  'suspicion.take',
  'mark.insert',
  'mark.insertHere',
  'mark.remove',
  'mark.snap',
  'mark.farLeft',
  'mark.farRight',
];

export function press(hands: Hands, id: string, what: string): boolean {
  hands.tally.total++;
  hands.tally.keys[what] = (hands.tally.keys[what] ?? 0) + 1;
  return hands.rig.press(id);
}

export function left(hands: Hands, start: number, end: number): Mistake[] {
  return mistakesIn(hands.truth, hands.rig.review(), hands.hz, start, end);
}

/** Keys of `allowed` that exist at this state of the command list. */
function known(rig: Rig, ids: readonly string[]): string[] {
  return rig.attempt(() =>
    ids.filter(id => {
      try {
        rig.press(id);
        return true;
      } catch {
        return false;
      }
    }),
  );
}

/**
 * Puts one mistake right, starting where the caret is and staying on the page: tries all ways in the order of their
 * length, at most `most` steps away. False when none leads there.
 */
export function putRight(hands: Hands, mistake: Mistake, most = 200): boolean {
  for (let round = 0; round < 6; round++) {
    const here = () => costOf(left(hands, mistake.at - hands.hz, mistake.at + hands.hz));
    const before = here();
    if (before === 0 || !left(hands, mistake.at - 1, mistake.at + 1).length) return true;
    const way = shortest(hands, most, () => (isNear(hands, mistake) ? (bestAct(hands, here, before) ?? null) : null));
    if (!way) return false;
    for (const id of [...way.steps, way.found]) press(hands, id, mistake.kind);
    if (here() === 0) return true;
  }
  return false;
}

function isNear({ rig, hz }: Hands, { at, mark }: Mistake): boolean {
  const { caret } = rig.workspace.view.getState();
  return Math.abs(caret - at) < hz * 0.6 || caret === mark;
}

function bestAct({ rig }: Hands, cost: () => number, before: number): string | null {
  let best: string | null = null;
  let least = before;
  for (const id of known(rig, acts)) {
    const after = rig.attempt(() => (rig.press(id) ? cost() : before));
    if (after < least) [best, least] = [id, after];
  }
  return best;
}

/** The fewest steps to where `at` gives something. */
function shortest<T>(hands: Hands, most: number, at: () => T | null): { steps: string[]; found: T } | null {
  const { rig, steps } = hands;
  const { view } = rig.workspace;
  const page = pageSpan(rig.workspace);
  const seen = new Set<number>();
  let edge: { steps: string[]; state: ReturnType<typeof view.getState> }[] = [{ steps: [], state: view.getState() }];
  return rig.attempt(() => {
    for (let depth = 0; depth <= most && edge.length > 0; depth++) {
      const next: typeof edge = [];
      for (const node of edge) {
        view.setState(node.state, true);
        const { caret } = node.state;
        if (seen.has(caret) || (depth > 0 && (caret < page.start || caret >= page.end))) continue;
        seen.add(caret);
        const found = at();
        if (found !== null) return { steps: node.steps, found };
        for (const id of steps) {
          view.setState(node.state, true);
          if (id === 'place.next' && !placeAhead(rig, page.end)) continue;
          if (rig.press(id)) next.push({ steps: [...node.steps, id], state: view.getState() });
        }
      }
      edge = next;
    }
    return null;
  });
}

/** Whether the key to the next place stays on the page: else it would accept it. */
function placeAhead(rig: Rig, end: number): boolean {
  const { caret } = rig.workspace.view.getState();
  return rig.queue().some(i => i.score >= worthALook && i.at > caret && i.at < end);
}

/** Marks an unreadable span: by its suggestion where one is right, else from one end to the other. */
export function markSpan(hands: Hands, mistake: Mistake): boolean {
  const { rig, truth } = hands;
  const span = mistake.span!;
  const { from, to } = endZones(truth, rig.review(), span);
  if (takeSpan(hands, mistake)) return true;
  for (const zone of [from, to]) {
    let way = shortest(hands, 200, () => (within(rig, zone) ? true : null));
    // A span that goes on over the page's end: begun here, ended on a page after it.
    for (let turns = 0; !way && zone === to && turns < 3; turns++) {
      press(hands, 'page.accept', 'pages');
      way = shortest(hands, 200, () => (within(rig, zone) ? true : null));
    }
    if (!way) return giveUp(hands);
    for (const id of [...way.steps, 'span.unreadable']) press(hands, id, 'unreadable');
  }
  return true;
}

/** What a hand cannot reach on this page is marked with the mouse: four keys' worth. */
function giveUp({ rig, tally }: Hands): boolean {
  rig.workspace.view.setState({ spanStart: null });
  tally.keys['not reached'] = (tally.keys['not reached'] ?? 0) + 1;
  return false;
}

function takeSpan(hands: Hands, mistake: Mistake): boolean {
  const { rig } = hands;
  if (!known(rig, ['suspicion.take']).length) return false;
  const open = () => left(hands, mistake.at, mistake.at + 1).length > 0;
  const way = shortest(hands, 12, () =>
    isNear(hands, mistake) && rig.attempt(() => rig.press('suspicion.take') && !open()) ? true : null,
  );
  if (!way) return false;
  for (const id of [...way.steps, 'suspicion.take']) press(hands, id, 'unreadable');
  return true;
}

function within(rig: Rig, zone: Span): boolean {
  const { caret } = rig.workspace.view.getState();
  return caret >= zone.start && caret < zone.end;
}

/** Puts the reviewer at the start of a segment, as the key for the next segment does. */
export function begin({ rig, hz }: Hands, segment: Span): void {
  rig.workspace.view.setState({ startSeconds: segment.start / hz });
  const first = between(rig.review().marks, segment.start, segment.end)[0];
  putCaret(rig.workspace, first ?? segment.start, true);
}
