import { lowerBound, type Marks } from '../marks/markset';
import { covers, normalise } from '../marks/spans';
import type { SampleIndex, Span } from '../units';
import { span } from '../units';
import type { Ecg } from './ecg';
import type { NoiseKind } from './noise';
import type { Planted, PlantedKind, PlantResult } from './plant';
import { BeatClass } from './rhythm';

/** Which property of the trace or the marks gives a place away. */
export type TellingFeature = 'interval' | 'shape' | 'amplitude' | 'noise';

/** A place worth a word afterwards. `ectopic` is no mistake: an unusual beat whose mark is right. */
export interface KeyPlace {
  readonly kind: PlantedKind | 'unreadable' | 'ectopic';
  readonly beat: SampleIndex | null;
  readonly mark: SampleIndex | null;
  /** Navigation look. */
  readonly span: Span;
  readonly feature: TellingFeature;
  /** What gives it away, for the screen. */
  readonly sentence: string;
}

/** The right answers of a lesson. */
export interface LessonKey {
  readonly beats: Marks;
  readonly unreadable: readonly Span[];
  readonly planted: readonly Planted[];
  /** By place: every planted mistake, every unreadable stretch, every ectopic beat that can be read. */
  readonly places: readonly KeyPlace[];
}

export function lessonKey(ecg: Ecg, { detected, planted }: PlantResult): LessonKey {
  const context = new Context(ecg, detected);
  const places = [
    ...planted.map(p => context.mistake(p)),
    ...ecg.unreadable.map(s => context.stretch(s)),
    ...context.ectopics(planted),
  ].sort((a, b) => a.span.start - b.span.start || a.span.end - b.span.end);
  return { beats: ecg.beats, unreadable: ecg.unreadable, planted, places };
}

class Context {
  private readonly disturbed: readonly Span[];

  constructor(
    private readonly ecg: Ecg,
    private readonly detected: Marks,
  ) {
    this.disturbed = normalise(ecg.noiseSpans.filter(n => n.kind !== 'baseline'));
  }

  mistake(p: Planted): KeyPlace {
    const at = p.beat ?? p.mark!;
    const where = this.betweenMarks(Math.min(at, p.mark ?? at), Math.max(at, p.mark ?? at));
    const base = { kind: p.kind, beat: p.beat, mark: p.mark, span: where };
    if (p.kind === 'missed') return { ...base, feature: 'interval', sentence: this.missedSentence(where) };
    if (p.kind === 'extra') return { ...base, ...this.extraTelling(p, where) };
    return { ...base, ...this.misplacedTelling(p, where) };
  }

  /** From the mark before `from` to the mark after `to`: the intervals that look odd. */
  private betweenMarks(from: number, to: number): Span {
    const before = this.detected[lowerBound(this.detected, from) - 1] ?? from;
    const after = this.detected[lowerBound(this.detected, to + 1)] ?? to;
    return span(before, after + 1);
  }

  private missedSentence(where: Span): string {
    const times = (where.end - 1 - where.start) / this.localRr(where.start);
    const beats = lowerBound(this.ecg.beats, where.end - 1) - lowerBound(this.ecg.beats, where.start + 1);
    const unmarked = beats === 1 ? 'one QRS in it has no mark' : `${beats} QRS complexes in it have no mark`;
    return `The interval is ${times.toFixed(1)} times its neighbours, and ${unmarked}.`;
  }

  private extraTelling(p: Planted, where: Span): Pick<KeyPlace, 'feature' | 'sentence'> {
    if (p.on === 'artefact') {
      const noisy = covers(this.disturbed, p.mark!);
      return {
        feature: noisy ? 'noise' : 'interval',
        sentence: `Two intervals add up to one normal one; the mark between them sits on ${
          noisy ? 'a swing of the noise' : 'nothing'
        }, and the beats around it are marked.`,
      };
    }
    const ms = this.ms(Math.min(p.mark! - where.start, where.end - 1 - p.mark!));
    return {
      feature: 'shape',
      sentence: `The mark sits on the rounded ${p.on}, ${ms} ms from a beat that is marked already.`,
    };
  }

  private misplacedTelling(p: Planted, where: Span): Pick<KeyPlace, 'feature' | 'sentence'> {
    const ms = this.ms(Math.abs(p.mark! - p.beat!));
    const side = p.mark! > p.beat! ? 'after' : 'before';
    if (p.kind === 'shifted')
      return { feature: 'shape', sentence: `The mark stands ${ms} ms ${side} the R peak, off the QRS it belongs to.` };
    if (p.on === 'artefact') {
      const noisy = covers(this.disturbed, p.mark!);
      return {
        feature: noisy ? 'noise' : 'interval',
        sentence: `The mark sits on ${noisy ? 'the noise' : 'no wave at all'}, ${ms} ms ${side} an R peak that has none.`,
      };
    }
    const sits = `mark sits on the ${p.on}, ${ms} ms ${side} its R peak.`;
    const pair = side === 'after' ? 'A long interval, then a short one' : 'A short interval, then a long one';
    // In the pause after an early beat the intervals may show nothing.
    const shown = this.isOddPair(p.mark!, where, side);
    return { feature: 'shape', sentence: shown ? `${pair}: the ${sits}` : `The ${sits}` };
  }

  /** Whether the interval on the far side of a mark that stands `side` its peak is longer than usual, and the other shorter. */
  private isOddPair(mark: number, where: Span, side: 'before' | 'after'): boolean {
    const usual = this.localRr(where.start);
    const [before, after] = [mark - where.start, where.end - 1 - mark];
    return side === 'after' ? before > usual && after < usual : before < usual && after > usual;
  }

  stretch(where: Span): KeyPlace {
    const noise = this.ecg.noiseSpans.filter(n => n.start < where.end && n.end > where.start);
    const is = (kind: NoiseKind) => noise.some(n => n.kind === kind);
    const [feature, sentence]: [TellingFeature, string] = is('off')
      ? ['amplitude', 'The trace shows no heart at all: the electrode is off.']
      : is('storm')
        ? ['noise', 'Swings as quick and high as beats come far too often: the beats cannot be told from them.']
        : ['noise', 'Muscle noise is as high as the R peaks: the beats are lost in it.'];
    return { kind: 'unreadable', beat: null, mark: null, span: where, feature, sentence };
  }

  /** Ectopic beats marked on their R peak, outside unreadable stretches. */
  ectopics(planted: readonly Planted[]): KeyPlace[] {
    const mistaken = new Set(planted.map(p => p.beat));
    const out: KeyPlace[] = [];
    for (const [k, value] of this.ecg.beats.entries()) {
      const beat = value as SampleIndex;
      const kind = this.ecg.classes[k];
      if (kind === BeatClass.normal || mistaken.has(beat) || covers(this.ecg.unreadable, beat)) continue;
      const wide = kind === BeatClass.ventricular;
      out.push({
        kind: 'ectopic',
        beat,
        mark: beat,
        span: this.betweenMarks(beat, beat),
        feature: wide ? 'shape' : 'interval',
        sentence: wide
          ? 'An early, wide beat with a pause after it: a real beat, and its mark is right.'
          : 'A beat of the usual shape that comes early: a real beat, and its mark is right.',
      });
    }
    return out;
  }

  /** Median of up to ten true RR intervals around a sample. */
  private localRr(at: number): number {
    const { beats } = this.ecg;
    const k = lowerBound(beats, at);
    const near: number[] = [];
    for (let i = Math.max(1, k - 5); i <= Math.min(beats.length - 1, k + 5); i++) near.push(beats[i]! - beats[i - 1]!);
    near.sort((a, b) => a - b);
    return near[near.length >> 1] ?? 1;
  }

  private ms(samples: number): number {
    return Math.round((samples * 1000) / this.ecg.samplingRateHz);
  }
}
