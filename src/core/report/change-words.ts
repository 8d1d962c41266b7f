import type { Change, Operation, SpanList } from '../marks/edit';
import type { Span } from '../units';

/** What a change did, in words with times in s, e.g. 'mark moved from 12.340 s to 12.356 s'. Empty for no change. */
export function changeInWords(change: Change, samplingRateHz: number): string {
  return change.flatMap(o => operationWords(o, samplingRateHz)).join('; ');
}

function operationWords(o: Operation, rateHz: number): string[] {
  const at = (sample: number) => `${(sample / rateHz).toFixed(3)} s`;
  if (o.op === 'marks') return markWords(o.removed, o.added, at);
  if (o.op === 'note') {
    const what = (o.after ?? o.before)?.kind === 'flag' ? 'flag' : 'comment';
    return [
      `${what} at ${at((o.after ?? o.before)?.start ?? 0)} ${outcome(o.before, o.after)}${quoted(o.after?.text)}`,
    ];
  }
  if (o.op === 'dismissal') {
    const d = o.after ?? o.before;
    return d ? [`suspicion "${d.reason}" at ${at(d.at)} ${o.after ? 'set aside' : 'taken up again'}`] : [];
  }
  if (o.op === 'signOff') {
    const s = o.after ?? o.before;
    return s
      ? [`segment "${s.segment}" ${o.after ? 'signed off' : 'reopened'}${quoted(o.after?.reason ?? undefined)}`]
      : [];
  }
  if (o.op === 'samplePlan') {
    const plan = o.after ?? o.before;
    if (!plan) return [];
    const of = plan.segment === null ? 'all segments' : `segment "${plan.segment}"`;
    return [`sample of ${of} planned: ${plan.bounds.length} stretches of ${plan.stretchSeconds} s, seed ${plan.seed}`];
  }
  if (o.op === 'sampled') {
    const stretch = o.after ?? o.before;
    if (!stretch) return [];
    const what = o.after === null ? 'no longer sampled' : stretch.outcome;
    const how = stretch.drawn ? 'sampled stretch' : 'stretch not drawn by the sample';
    return [`${how} ${at(stretch.start)} to ${at(stretch.end)} ${what}`];
  }
  return spanWords(o.op, o.removed, o.added, at);
}

function markWords(removed: readonly number[], added: readonly number[], at: (sample: number) => string): string[] {
  if (removed.length === 1 && added.length === 1) return [`mark moved from ${at(removed[0]!)} to ${at(added[0]!)}`];
  return [...removed.map(m => `mark at ${at(m)} deleted`), ...added.map(m => `mark inserted at ${at(m)}`)];
}

const listWords: Record<SpanList, string> = { unreadable: 'unreadable', accepted: 'accepted', seen: 'seen' };

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
