import type { Change, Operation, SpanList } from '../marks/edit';
import type { Fact, LogReference } from '../marks/facts';
import { noteText } from '../review/places/evidence';
import type { Span } from '../units';

/** What an entry recorded about the whole review, in words. */
export function factInWords(fact: Fact): string {
  switch (fact.kind) {
    case 'settledLogs': {
      const named = ({ rater, entries, hash }: LogReference) =>
        `${rater} (${entries} entries, last ${hash === '' ? 'none' : hash.slice(0, 12)})`;
      return `settling begun from what ${named(fact.a)} as A and ${named(fact.b)} as B agree on`;
    }
    case 'spotCheckPlan':
      return `spot check planned: share ${fact.share}, seed ${fact.seed}, stretches of ${fact.stretchSeconds} s`;
    case 'unblinded':
      return `unblinded by the ${fact.by}: reviews of ${fact.raters.join(', ') || 'others'} could be seen from here on`;
    case 'reassigned':
      return `review reassigned from ${fact.from} to ${fact.to}`;
  }
}

/** What a change did, in words with times in s, e.g. 'mark moved from 12.340 s to 12.356 s'. Empty for no change. */
export function changeInWords(change: Change, samplingRateHz: number): string {
  return change.flatMap(o => operationWords(o, samplingRateHz)).join('; ');
}

function operationWords(o: Operation, rateHz: number): string[] {
  const at = (sample: number) => `${(sample / rateHz).toFixed(3)} s`;
  if (o.op === 'marks') return markWords(o.removed, o.added, at);
  if (o.op === 'notSinus') {
    const words = (verb: string) => (beat: number) => `beat at ${at(beat)} ${verb} not sinus`;
    return [...o.removed.map(words('no longer marked as')), ...o.added.map(words('marked as'))];
  }
  if ('before' in o) return itemWords(o, at);
  return spanWords(o.op, o.removed, o.added, at);
}

/** Of an operation on one item: what it is, and what became of it. */
function itemWords(o: Extract<Operation, { before: unknown }>, at: (sample: number) => string): string[] {
  const item = o.after ?? o.before;
  if (item === null) return [];
  const there = o.after !== null;
  switch (o.op) {
    case 'note': {
      const { kind, start } = (o.after ?? o.before)!;
      const text = o.after ? noteText(o.after) : undefined;
      return [`${kind === 'flag' ? 'flag' : 'comment'} at ${at(start)} ${outcome(o.before, o.after)}${quoted(text)}`];
    }
    case 'dismissal': {
      const { reason, at: place } = (o.after ?? o.before)!;
      return [`suspicion "${reason}" at ${at(place)} ${there ? 'set aside' : 'taken up again'}`];
    }
    case 'signOff':
      return [
        `segment "${(o.after ?? o.before)!.segment}" ${there ? 'signed off' : 'reopened'}${quoted(o.after?.reason ?? undefined)}`,
      ];
    case 'settlement': {
      const { kind, at: place, take } = (o.after ?? o.before)!;
      const answer = take === 'new' ? 'with a new answer' : `with the answer of ${take}`;
      return [`difference "${kind}" at ${at(place)} ${there ? `settled ${answer}` : 'open again'}`];
    }
    case 'spotCheck': {
      const found = (o.after ?? o.before)!;
      return [`spot check at ${at(found.at)} ${there ? found.outcome : 'open again'}`];
    }
    case 'hint':
      return [`hint on the place at ${at((o.after ?? o.before)!.at)} ${there ? 'taken' : 'given back'}`];
    case 'samplePlan': {
      const { segment, bounds, stretchSeconds, seed } = (o.after ?? o.before)!;
      const of = segment === null ? 'all segments' : `segment "${segment}"`;
      return [`sample of ${of} planned: ${bounds.length} stretches of ${stretchSeconds} s, seed ${seed}`];
    }
    case 'sampled': {
      const { start, end, outcome: came, drawn } = (o.after ?? o.before)!;
      const how = drawn ? 'sampled stretch' : 'stretch not drawn by the sample';
      return [`${how} ${at(start)} to ${at(end)} ${there ? came : 'no longer sampled'}`];
    }
  }
}

function markWords(removed: readonly number[], added: readonly number[], at: (sample: number) => string): string[] {
  if (removed.length === 1 && added.length === 1) return [`mark moved from ${at(removed[0]!)} to ${at(added[0]!)}`];
  return [...removed.map(m => `mark at ${at(m)} deleted`), ...added.map(m => `mark inserted at ${at(m)}`)];
}

const listWords: Record<SpanList, string> = {
  unreadable: 'unreadable',
  accepted: 'accepted',
  seen: 'seen',
  rhythmChecked: 'checked for beats that are not sinus',
};

function spanWords(
  list: SpanList,
  removed: readonly Span[],
  added: readonly Span[],
  at: (sample: number) => string,
): string[] {
  const words = (spans: readonly Span[]) => spans.map(s => `${at(s.start)} to ${at(s.end)}`).join(', ');
  if (removed.length === 0) return added.length > 0 ? [`${listWords[list]}: ${words(added)}`] : [];
  if (added.length === 0) return [`no longer ${listWords[list]}: ${words(removed)}`];
  return [`${listWords[list]}: ${words(added)} instead of ${words(removed)}`];
}

function outcome(before: unknown, after: unknown): string {
  if (before === null) return 'added';
  return after === null ? 'removed' : 'changed';
}

function quoted(text: string | undefined): string {
  return text ? `: "${text}"` : '';
}
