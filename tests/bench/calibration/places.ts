import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { detectBeats } from '../../../src/core/detector/detect';
import { signalFeatures } from '../../../src/core/detector/suspicion/features';
import type { ReasonId } from '../../../src/core/detector/suspicion/reasons';
import {
  type Candidate,
  listed,
  type Suspicion,
  type SuspicionTable,
  suspicionTable,
} from '../../../src/core/detector/suspicion/suspicion';
import { startReview } from '../../../src/core/marks/edit';
import { between, type Marks } from '../../../src/core/marks/markset';
import { BeatOutcome, match } from '../../../src/core/marks/match';
import { covers, normalise, union } from '../../../src/core/marks/spans';
import type { SampleArray } from '../../../src/core/recording/recording';
import { itemId, reviewQueue } from '../../../src/core/review/places/queue';
import type { Span } from '../../../src/core/units';
import { openFolder, openLead, openRecording } from '../open-recordings';
import { plainMarks } from '../plain-marks';
import { plantMistakes } from '../planted';

/** A recording with marks of which the mistakes are known. */
export interface Judged {
  /** Places of one record are never in the fit that predicts them. */
  readonly record: string;
  readonly source: 'real' | 'second lead' | 'planted' | 'samples';
  readonly hz: number;
  readonly marks: Marks;
  readonly beats: Marks;
  readonly table: SuspicionTable;
  /** The same without a second detector. */
  readonly alone: SuspicionTable;
  /** Each mistake with the stretch in which a place leads the eye to it. */
  readonly mistakes: readonly Mistake[];
  /** Nothing there is right or wrong; gaps are among them. */
  readonly unreadable: readonly Span[];
}

export interface Mistake {
  readonly kind: 'missed' | 'wrong' | 'extra';
  /** The beat, or the mark that is none. */
  readonly at: number;
  readonly from: number;
  readonly to: number;
}

export interface Place {
  readonly record: string;
  readonly source: Judged['source'];
  readonly about: 'mark' | 'gap';
  readonly at: number;
  /** Where else the place leads the eye: the beats it says are missing. */
  readonly places: readonly number[];
  readonly suggestion: Candidate | null;
  /** Strongest first. */
  readonly strengths: Readonly<Partial<Record<ReasonId, number>>>;
  readonly isMistake: boolean;
}

/** Stretches that the experts called unreadable: nothing there is right or wrong. */
function unreadableOf(name: string): Span[] {
  const { noise, flutter } = JSON.parse(readFileSync(join(openFolder, `${name}.json`), 'utf8'));
  const bad = noise.filter((n: [number, number, string]) => n[2] === 'unreadable');
  return [...bad, ...flutter].map(([start, end]) => ({ start, end }) as Span);
}

/** An open recording with the mistakes that the plain detector makes on one of its leads, or with planted ones. */
export function judgedOpen(name: string, source: Exclude<Judged['source'], 'samples'>): Judged {
  const { words, beats, samplingRateHz: hz } = openRecording(name);
  const second = openLead(`${name}-lead2`);
  const leads = source === 'second lead' ? [second, words] : [words, second];
  const lead = leads[0]!;
  const marks = source === 'planted' ? plantMistakes(beats, hz, 0.0075, 11).marks : plainMarks(lead, hz);
  return judge(name, source, { leads, hz, beats, marks, unreadable: unreadableOf(name), gaps: [] });
}

interface Known {
  /** The one with the marks first; the others are looked at with it, as on the page. */
  readonly leads: readonly SampleArray[];
  readonly hz: number;
  readonly beats: Marks;
  readonly marks: Marks;
  readonly unreadable: readonly Span[];
  readonly gaps: readonly Span[];
}

export function judge(record: string, source: Judged['source'], known: Known): Judged {
  const { leads, hz, beats, marks, unreadable, gaps } = known;
  const second = detectBeats(leads, hz, { gaps });
  const features = signalFeatures(leads[0]!, hz, ...leads.slice(1));
  const input = {
    features,
    marks,
    second: second.samples,
    secondChance: second.probability,
    secondUnsure: second.unsure,
    gaps,
    unreadable: [],
  };
  const table = suspicionTable(input);
  const alone = suspicionTable({ ...input, second: null });
  const unseen = union(normalise(unreadable), gaps);
  const mistakes = mistakesOf(beats, marks, unseen, hz);
  return { record, source, hz, marks, beats, table, alone, mistakes, unreadable: unseen };
}

function mistakesOf(beats: Marks, marks: Marks, unreadable: readonly Span[], hz: number): Mistake[] {
  const m = match(beats, marks, unreadable, hz);
  const slack = Math.round(0.02 * hz);
  const out: Mistake[] = [];
  for (let k = 0; k < m.beats.length; k++) {
    const beat = m.beats[k]!;
    if (m.outcome[k] === BeatOutcome.missed)
      out.push({ kind: 'missed', at: beat, from: m.beats[k - 1] ?? 0, to: m.beats[k + 1] ?? beat });
    if (m.outcome[k] !== BeatOutcome.wrongPeak) continue;
    const mark = m.marks[m.markOfBeat[k]!]!;
    out.push({ kind: 'wrong', at: beat, from: Math.min(beat, mark) - slack, to: Math.max(beat, mark) + slack });
  }
  for (let j = 0; j < m.marks.length; j++) {
    const at = m.marks[j]!;
    if (m.beatOfMark[j] === -1) out.push({ kind: 'extra', at, from: at - slack, to: at + slack });
  }
  return out.sort((a, b) => a.from - b.from);
}

/** Places by what `keyOf` gives. */
export function grouped(places: readonly Place[], keyOf: (place: Place) => string): Map<string, Place[]> {
  const out = new Map<string, Place[]>();
  for (const p of places) out.set(keyOf(p), [...(out.get(keyOf(p)) ?? []), p]);
  return out;
}

/** Whether looking at a place shows a mistake. */
export function leadsTo(place: Place, { from, to }: Mistake): boolean {
  return place.places.some(at => at >= from && at <= to);
}

/** Every place of the queue, and whether looking there finds a mistake. */
export function placesOf(judged: Judged, table = judged.table): Place[] {
  const { marks, beats, hz, unreadable, record, source } = judged;
  const m = match(beats, marks, unreadable, hz);
  const wrongMarks = new Set<number>();
  for (let j = 0; j < m.marks.length; j++) {
    const k = m.beatOfMark[j]!;
    if (k === -1 || m.outcome[k] === BeatOutcome.wrongPeak) wrongMarks.add(m.marks[j]!);
  }
  const open = m.beats.filter((_, k) => m.outcome[k] !== BeatOutcome.onPeak);
  const out: Place[] = [];
  const queued = new Set(reviewQueue(listed(table), startReview(marks), hz).map(item => item.id));
  for (const [i, found] of table.perMark.entries()) {
    for (const s of found) {
      if (covers(unreadable, s.at) || !queued.has(itemId(s))) continue;
      const start = marks[i - 1] ?? 0;
      const end = marks[i] ?? Number.MAX_SAFE_INTEGER;
      const isMistake = s.mark !== null ? wrongMarks.has(s.mark) : between(open, start + 1, end).length > 0;
      out.push({
        record,
        source,
        about: s.mark !== null ? 'mark' : 'gap',
        at: s.at,
        places: s.leads,
        suggestion: s.candidates[0] ?? null,
        strengths: strengthsOf(s),
        isMistake,
      });
    }
  }
  return out;
}

function strengthsOf(s: Suspicion): Place['strengths'] {
  return Object.fromEntries(s.findings.map(f => [f.reason, f.strength]));
}
