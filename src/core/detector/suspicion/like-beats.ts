import { dot, snippetLength, stride, takeSnippet } from './beats';
import { type Context, noneHere, type SecondOpinion } from './context';

/** Marks on either side among which beats like this one are looked for. */
const around = 12;
/** So like the average beat that it is one of the many, whose place is known. */
const usualBeat = 0.95;
/** Correlation from which two beats are of one kind. */
const oneKind = 0.95;
const atLeast = 3;
/** How far two marks of one kind may lie apart on their wave. */
const reachS = 0.06;

/**
 * An unusual beat, such as an ectopic one, whose like come again: how far from mark i the second detector's beat would
 * lie if it were as in those, in samples (median); null where fewer than three are alike. The second detector may have
 * taken the same wrong wave once, but not in all of them. Correlation with like beats is common practice.
 */
export function offOfLikeBeats({ features, beats, marks }: Context, { off }: SecondOpinion, i: number): number | null {
  if (beats.shiftedCorrelation[i]! > usualBeat) return null;
  const step = stride(features);
  const reach = Math.round((reachS * features.workingHz) / step);
  const centre = Math.floor(marks[i]! / features.factor);
  const length = snippetLength(features);
  const own = Array.from({ length: 2 * reach + 1 }, (_, s) => {
    const out = new Float32Array(length);
    takeSnippet(features, centre + (s - reach) * step, out);
    return out;
  });
  const other = new Float32Array(length);
  const correlation = (s: number) => dot(own[s]!, 0, other, length);
  const found: number[] = [];
  for (let k = Math.max(0, i - around); k <= Math.min(marks.length - 1, i + around); k++) {
    if (k === i || off[k] === noneHere) continue;
    takeSnippet(features, Math.floor(marks[k]! / features.factor), other);
    let best = 0;
    for (let s = 1; s < own.length; s++) if (correlation(s) > correlation(best)) best = s;
    if (correlation(best) < oneKind) continue;
    found.push((best - reach) * step * features.factor + off[k]!);
  }
  if (found.length < atLeast) return null;
  return found.sort((a, b) => a - b)[found.length >> 1]!;
}
