import { clusteredKappaMethod } from '../agreement/clustered-kappa';
import { amount } from '../amount';
import { bandsHz, leastSeconds, lombMethod, welchMethod } from '../hrv/spectrum';
import { notHere } from '../review/standing/looked-at';
import type { Study } from '../review/study/study';
import type { ActsRow } from './audit';
import { type FlowStep, flowText } from './flow';
import type { SegmentSeries } from './hrv-series';
import {
  type CoveredCase,
  heldOf100,
  type IntervalName,
  leastHeld,
  measuredCoverage,
  nearestSize,
  populations,
} from './measured-coverage';
import { nonSinusMethod } from './non-sinus';
import type { ClockFacts } from './pairs/recorder-pairs';
import type { RaterAgreement } from './raters/rater-agreement';
import type { ReportSettings, SegmentRow, SessionTableRow } from './rows';
import { sampledText } from './sampled-quality';
import type { SecondDetectorPass } from './second-detector';
import { type StudyNumbers, studyMethods } from './study-numbers';
import { appName, appVersion } from './version';
import { volunteersWithNumber } from './without-number';

/** One paragraph under its heading. */
export interface MethodsPart {
  readonly heading: string;
  readonly text: string;
}

export interface MethodsInput {
  readonly study: Study | null;
  readonly settings: ReportSettings;
  readonly volunteers: readonly string[];
  readonly recorders: readonly string[];
  readonly activities: readonly string[];
  readonly flow: readonly FlowStep[];
  readonly sessions: readonly SessionTableRow[];
  readonly segments: readonly SegmentRow[];
  readonly numbers: StudyNumbers;
  readonly raters: RaterAgreement;
  readonly clocks: readonly ClockFacts[];
  readonly series: readonly SegmentSeries[];
  readonly audit: readonly ActsRow[];
  readonly secondDetector: SecondDetectorPass | null;
}

/** What was done, in words, from the settings that were used and the reviews that were counted. */
export function methodsText(input: MethodsInput): MethodsPart[] {
  // Where no review counts nothing was computed, and no method was used.
  if (input.segments.length === 0)
    return [{ heading: 'Reviews', text: `No review counts here. ${flowText(input.flow)}` }];
  return [
    { heading: 'Recordings', text: recordingsText(input) },
    { heading: 'Review', text: reviewText(input) },
    { heading: 'Quality', text: qualityText(input.settings) },
    ...sampledPart(input.segments),
    { heading: 'Uncertainty', text: uncertaintyText(input) },
    ...(input.secondDetector ? [{ heading: 'Second detector', text: secondDetectorText(input.settings) }] : []),
    ...(input.raters.total ? [{ heading: 'Agreement of raters', text: ratersText(input.raters) }] : []),
    ...(input.clocks.length > 0 ? [{ heading: 'Two recorders', text: recordersText(input) }] : []),
    // Where every review is a sample there is neither HRV nor a plan.
    ...(input.series.length > 0 ? [{ heading: 'Heart rate and HRV', text: hrvText(input) }] : []),
    ...(input.numbers.planning.length > 0 ? [{ heading: 'Planning', text: planningText(input.settings) }] : []),
  ];
}

function sampledPart(segments: readonly SegmentRow[]): MethodsPart[] {
  const text = sampledText(segments);
  return text === null ? [] : [{ heading: 'Sampled reviews', text }];
}

function listed(names: readonly string[]): string {
  if (names.length < 2) return names[0] ?? 'none';
  return `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}

const capital = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);

function recordingsText({ flow, volunteers, recorders, activities, segments, ...input }: MethodsInput): string {
  // Hours and volunteers are of the same sessions: those that are reviewed.
  const sessions = input.sessions.filter(s => s.source !== null);
  const hours = sessions.flatMap(s => s.recordings).reduce((sum, r) => sum + r.seconds, 0) / 3600;
  const detectedBy = [...new Set(sessions.flatMap(s => s.recordings.map(r => r.detectedBy)))];
  const rates = recorders.map(name => {
    const own = sessions.flatMap(s => s.recordings).filter(r => r.recorder === name);
    return `${name} (${listed([...new Set(own.map(r => `${r.samplingRateHz} Hz`))])})`;
  });
  return [
    `${amount(volunteers.length, 'volunteer')} (${listed(volunteers)}) with ${amount(recorders.length, 'recorder')}: ${listed(rates)}; ${hours.toFixed(1)} h of recording in all.`,
    flowText(flow),
    `${amount(segments.length, 'segment')} of ${amount(activities.length, 'activity', 'activities')}: ${listed(activities)}.`,
    `R-peak marks as delivered by: ${listed(detectedBy)}.`,
  ].join(' ');
}

function reviewText({ sessions, segments, study, audit, recorders, raters }: MethodsInput): string {
  const named = study?.countedRater;
  const sources = [...new Set(sessions.flatMap(s => s.source ?? []))];
  const evidence = segments.reduce((sum, s) => sum + s.otherTraceUsed, 0);
  return [
    `${lookedAtBy(segments)} looked at by eye on the ECG, with ${appName} ${appVersion}${actsWords(sessions, audit)}.`,
    `For each volunteer the adjudicated review counts, else that of ${named || 'the rater first by code'}.`,
    `The reviews counted here are ${listed(sources.map(sourceWords))}; ${coverageWords(segments)}. ${notFinalWords(segments)}`.trim(),
    secondRatings(sessions, raters),
    ...(recorders.length > 1
      ? [
          `The other recorder’s trace was used as evidence at ${evidence === 0 ? 'no place' : amount(evidence, 'place')}.`,
        ]
      : []),
    ...(study?.protocol ? ['The protocol the raters followed is in the supplement.'] : []),
  ].join(' ');
}

const looked = (s: SegmentRow) => s.coverageShare === null || s.coverageShare > 0;

function lookedAtBy(segments: readonly SegmentRow[]): string {
  if (segments.every(s => s.coverageShare !== null && s.coverageShare >= 1)) return 'Every mark was';
  return segments.some(looked) ? 'Marks were' : 'No mark was';
}

/** 'by R1', 'by R2 (not blind)', 'adjudicated by S1 (not finished)'. */
function sourceWords(source: string): string {
  const [who, ...beside] = source.split(', ');
  const more = beside.length > 0 ? ` (${beside.join(', ')})` : '';
  return `${who!.startsWith('adjudicated') ? who : `by ${who}`}${more}`;
}

/** How much of the segments was looked at, of those where that is known. */
function coverageWords(segments: readonly SegmentRow[]): string {
  const shares = segments.flatMap(s => s.coverageShare ?? []);
  const unknown = segments.length - shares.length;
  const ofSettled = `of ${amount(unknown, 'segment')} this is not known, as the two logs they settle are not here`;
  if (shares.length === 0) return `how much of the segments was looked at is not known: ${notHere}`;
  const covered = shares.filter(s => s >= 1).length;
  const mean = shares.reduce((sum, s) => sum + s, 0) / shares.length;
  const full = `${covered} of ${amount(shares.length, 'segment')} were looked at in full (mean coverage ${(100 * mean).toFixed(1)} %${settledWords(segments)})`;
  return unknown > 0 ? `${full}; ${ofSettled}` : full;
}

/** Who was rated by a second person, how blind, and what became of the differences. */
function secondRatings(sessions: readonly SessionTableRow[], { rows }: RaterAgreement): string {
  const having = (holds: (row: RaterAgreement['rows'][number]) => boolean) => {
    const found = new Set(rows.filter(holds).map(r => r.session));
    return sessions.filter(s => found.has(s.session));
  };
  const twice = having(r => r.repeatedBy === null);
  const again = having(r => r.repeatedBy !== null);
  // A settled log follows from two ratings, also where they were not handed on with it.
  const elsewhere = sessions.filter(s => s.settled && !twice.includes(s));
  const volunteersOf = (some: readonly SessionTableRow[]) => listed(some.map(s => s.volunteer));
  const said = [
    ...(twice.length > 0
      ? [`${amount(twice.length, 'session')} had a second${blindWords(twice, volunteersOf)}; ${settledIn(twice)}.`]
      : []),
    ...(elsewhere.length > 0
      ? [
          `${amount(elsewhere.length, 'session')} (${volunteersOf(elsewhere)}) had two ratings whose differences were settled; the two are not both here.`,
        ]
      : []),
    ...(again.length > 0
      ? [`${amount(again.length, 'session')} (${volunteersOf(again)}) had a later rating by the same rater.`]
      : []),
  ];
  return said.length > 0 ? said.join(' ') : 'No session had a second rating.';
}

/** ', blind rating (V1 and V2)', ' rating (V1 and V2), blind but for V2', or ' rating (V1), not blind'. */
function blindWords(
  twice: readonly SessionTableRow[],
  volunteersOf: (some: readonly SessionTableRow[]) => string,
): string {
  // One of the ratings was done after another's could be seen.
  const seenBefore = twice.filter(s => s.finishedRaters.some(r => r.endsWith('not blind')));
  const who = `rating (${volunteersOf(twice)})`;
  if (seenBefore.length === 0) return `, blind ${who}`;
  return seenBefore.length === twice.length
    ? ` ${who}, not blind`
    : ` ${who}, blind but for ${volunteersOf(seenBefore)}`;
}

/** What the counted logs hold: an act that nobody did is not described. */
function actsWords(sessions: readonly SessionTableRow[], audit: readonly ActsRow[]): string {
  const counted = audit.filter(a => sessions.some(s => s.session === a.session && s.source === a.source));
  const entries = (intent: keyof ActsRow['byIntent']) => counted.reduce((n, a) => n + (a.byIntent[intent] ?? 0), 0);
  const acts = [
    ['move', 'mark moved', 'marks moved'],
    ['delete', 'mark removed', 'marks removed'],
    ['insert', 'beat inserted', 'beats inserted'],
    ['unreadable', 'stretch marked unreadable', 'stretches marked unreadable'],
  ] as const;
  const done = acts.flatMap(([intent, one, many]) => (entries(intent) > 0 ? [amount(entries(intent), one, many)] : []));
  return done.length > 0 ? ` (entries of the logs, before any undoing: ${listed(done)})` : '';
}

function settledIn(twice: readonly SessionTableRow[]): string {
  const settled = twice.filter(s => s.settled).length;
  const begun = twice.filter(s => !s.settled && s.source?.startsWith('adjudicated')).length;
  const partly = begun > 0 ? `, and in part in ${begun}` : '';
  if (settled === 0) return begun > 0 ? `differences were settled in part in ${begun}` : 'no differences were settled';
  return settled === twice.length ? 'all differences were settled' : `differences were settled in ${settled}${partly}`;
}

function notFinalWords(segments: readonly SegmentRow[]): string {
  const open = segments.filter(s => s.standing.status !== 'final' && s.standing.status !== 'sampled');
  const signed = segments.filter(s => s.standing.status === 'final' && s.coverageShare !== null && s.coverageShare < 1);
  const of = (some: readonly SegmentRow[]) => `${some.length} of ${segments.length}`;
  return [
    ...(signed.length > 0
      ? [`Segments signed off with a written reason though not looked at in full count as they stand: ${of(signed)}.`]
      : []),
    ...(open.length > 0
      ? [`Segments whose review is not complete are left out of the numbers over volunteers: ${of(open)}.`]
      : []),
  ].join(' ');
}

/** A settled review rests on the looking of two. */
function settledWords(segments: readonly SegmentRow[]): string {
  const pairs = new Set(segments.filter(s => s.coverageBy.length > 1).map(s => listed(s.coverageBy.map(b => b.rater))));
  return pairs.size > 0 ? `; of a settled review, that of the rater who looked at less: ${[...pairs].join('; ')}` : '';
}

function qualityText({ match }: ReportSettings): string {
  return [
    `A mark within ${match.onPeakToleranceMs} ms of a beat is on its peak; a beat without one whose nearest free mark lies within ${match.wrongPeakWindowMs} ms and between its neighbours has a wrong peak; other beats are missed, other marks extra.`,
    'An RR interval between two consecutive reviewed beats of a segment is right when both beats have a mark on the peak and no mark lies between. Unreadable stretches and stretches without signal count as lost the intervals that would fit at the local RR interval.',
    `${capital(studyMethods.quality)}.`,
  ].join(' ');
}

function uncertaintyText({ settings, segments, recorders, numbers }: MethodsInput): string {
  const { bootstrap } = settings.statistics;
  const level = Math.round(100 * bootstrap.level);
  const volunteers = volunteersWithNumber(segments);
  const several = volunteers > 1;
  return [
    `Intervals are ${level} % intervals. RR intervals of one person are not independent, so volunteers are the units.`,
    several
      ? `Shown first, and the one to read: ${studyMethods.pooledClustered}.`
      : volunteers === 1
        ? 'With one volunteer there is no interval over volunteers: the numbers describe this volunteer.'
        : 'No segment that was reviewed in full has a quality, so there is no interval over volunteers of these.',
    ...(several
      ? [
          `For comparison: ${studyMethods.jackknife}; and from ${bootstrap.draws} draws with seed ${bootstrap.seed}: ${studyMethods.percentile}; ${studyMethods.bca}; ${studyMethods.expandedPercentile}; ${studyMethods.expandedBca}; ${studyMethods.bootstrapT}.`,
        ]
      : []),
    ...(several && recorders.length > 1 && numbers.differences.length > 0
      ? [`Differences: ${studyMethods.difference}.`]
      : []),
    ...(segments.some(s => s.standing.status !== 'sampled')
      ? [
          `Of a single segment: ${studyMethods.segment}; Wilson’s interval (Newcombe, Stat Med 1998;17:857, method 3) is given as if intervals were independent.`,
        ]
      : []),
    'Intervals of one table are not adjusted for their number.',
    ...(several ? [coverageText(volunteers)] : []),
  ].join(' ');
}

/** What the intervals are worth, from the simulated studies nearest in size, with the cases in which they fail. */
function coverageText(volunteers: number): string {
  const { pooled, differences, studies, level } = measuredCoverage;
  const size = nearestSize(volunteers);
  const held = (name: IntervalName, cases: readonly CoveredCase[] = pooled) => heldOf100(name, size, cases);
  const failing = failingCases(size);
  return [
    `In ${studies} simulated studies of ${size} volunteers from each of ${populations.length} populations (quality 90 to 99.8 %, most volunteers without a mistake, few bad ones, bursts), ${100 * level} % intervals held the true quality in this many of 100 studies: the one shown first ${held('effectiveSize')}, jackknife ${held('jackknife')}, bootstrap-t ${held('bootstrapT')}, percentile ${held('percentile')}, BCa ${held('bca')};`,
    `and a true difference: the one shown first ${held('effectiveSize', differences)}, bootstrap-t ${held('bootstrapT', differences)}, jackknife ${held('jackknife', differences)}.`,
    failing.length > 0
      ? `The one shown first fell short where ${failing.join('; ')}: no interval can allow for volunteers of a kind that the study did not meet.`
      : '',
    'Every case is in the supplement.',
  ]
    .filter(text => text !== '')
    .join(' ');
}

/** Populations in which the interval to read held the truth too seldom, in words. */
function failingCases(size: number): string[] {
  return measuredCoverage.pooled
    .filter(c => c.volunteers === size && c.covered.effectiveSize! < leastHeld)
    .map(c => {
      const { description } = populations.find(p => p.name === c.population)!;
      return `${description} (${Math.floor(100 * c.covered.effectiveSize!)} of 100)`;
    });
}

function ratersText({ total }: RaterAgreement): string {
  const { recordings, pairs, f1, kappa } = total!;
  const interval =
    kappa.value !== null && kappa.interval
      ? ` (95 % interval ${kappa.interval[0].toFixed(3)} to ${kappa.interval[1].toFixed(3)}; ${clusteredKappaMethod})`
      : kappa.value !== null && kappa.intervalReason
        ? ` (no interval: ${kappa.intervalReason})`
        : '';
  const k = kappa.value === null ? `not computable: ${kappa.reason}` : `${kappa.value.toFixed(3)}${interval}`;
  const f = f1.value === null ? `not computable: ${f1.reason}` : `${f1.value.toFixed(4)} (${f1.n} beats of both)`;
  return `${amount(recordings, 'recording')} rated by more than one${pairs > recordings ? `, ${amount(pairs, 'pair')} of ratings` : ''}. F1 between raters over all of them ${f}; Cohen’s kappa on the verdict of each detected mark (kept, moved, removed, unreadable) ${k} (Cohen, Educ Psychol Meas 1960;20:37; of single recordings with the standard error of Fleiss, Cohen & Everitt, Psychol Bull 1969;72:323, marks taken as independent); overlap of unreadable stretches by Jaccard’s index. Over all pairs of raters at once: Krippendorff’s alpha, Fleiss’ kappa (Psychol Bull 1971;76:378) and specific agreement (Cicchetti & Feinstein, J Clin Epidemiol 1990;43:551), with intervals over volunteers, as verdicts within one are not independent: of Fleiss’ kappa as above, of the others by a bootstrap.`;
}

function secondDetectorText({ match, secondDetector }: ReportSettings): string {
  return [
    `As raters start from the marks under test, the ${secondDetector ?? 'second detector'} went over the signals without them.`,
    `A beat that a rater kept as found, though this detector has none within ${match.onPeakToleranceMs} ms, and a beat that it alone has count as left as found against it, outside stretches in which it is unsure. The quality is given once more with all of these decided the other way: the furthest that leaning on the marks can have led, as far as this detector sees it. It is no estimate of the quality, as the detector makes mistakes of its own; and where both detectors make the same mistake it shows nothing.`,
  ].join(' ');
}

function recordersText({ clocks, settings }: MethodsInput): string {
  const margins = Object.keys(settings.statistics.margins ?? {}).length > 0;
  const found = clocks.filter(c => c.clock?.from === 'matched beats').length;
  const given = clocks.filter(c => c.clock !== null).length - found;
  const lost = clocks.filter(c => c.clock === null);
  return [
    `The two clocks were related by offset and drift from the reviewed beats of both recorders (cross-correlation of heart rate, then matched beats with a robust line): ${found} found so${given > 0 ? `, ${given} set otherwise (see the table)` : ''}${lost.length > 0 ? `, not found for ${listed(lost.map(c => c.volunteer))}` : ''}.`,
    `Mistakes included, each recorder as detected (only stretches without signal left out) is compared with the reviewed beats of its own trace, and the recorders with each other: mean heart rate of each minute, RR interval under way at the same time, RMSSD and ln RMSSD of each segment. ${capital(studyMethods.detectedLimits)}; ${studyMethods.detectedRegression}; ${studyMethods.detectedConcordance}${margins ? `; ${studyMethods.equivalence}` : ''}.`,
    'Conditional on both having an interval, they are compared over intervals both of whose beats both have within 50 ms, outside stretches called unreadable on either; this leaves the mistakes out.',
    `Bias and limits of agreement: ${studyMethods.blandAltman}. Concordance: ${studyMethods.concordance}. ${studyMethods.icc}. ${capital(studyMethods.error)}. Intervals of these are cluster bootstrap intervals by volunteer.`,
  ].join(' ');
}

function hrvText({ series }: MethodsInput): string {
  const empty = series.filter(s => s.series.reviewed.intervalsMs.length === 0).length;
  const shown = series.filter(s => s.sinusCheck.reason === null && s.series.reviewed.intervalsMs.length > 0);
  const odd = shown.reduce((sum, s) => sum + s.nonSinusBeats, 0);
  const out = shown.reduce((sum, s) => sum + s.series.sinus.leftOutNonSinus, 0);
  const confirmed = shown.filter(s => s.sinusCheck.status === 'confirmed').length;
  const segments = `Of ${amount(series.length, 'segment')} ${confirmed} confirmed, ${shown.length - confirmed} with few odd intervals, ${series.length - empty - shown.length} not computable${empty > 0 ? `, ${empty} without a reviewed interval` : ''}`;
  return [
    'Each measure is computed three times: from the marks as detected (only stretches without signal left out), from the reviewed beats (unreadable stretches left out too), and from the reviewed beats without intervals that touch a non-sinus beat.',
    `Non-sinus beats: ${nonSinusMethod}. ${segments}. ${odd === 0 ? 'No beat was left out' : `${amount(odd, 'beat')} left out, and with ${odd === 1 ? 'it' : 'them'} ${amount(out, 'interval')}`}.`,
    `Time domain and bands after the Task Force of the ESC and NASPE (Circulation 1996;93:1043): VLF to ${bandsHz.vlf[1]} Hz, LF ${bandsHz.lf[0]} to ${bandsHz.lf[1]} Hz, HF ${bandsHz.hf[0]} to ${bandsHz.hf[1]} Hz; least readable time ${leastSeconds.vlf}, ${leastSeconds.lf} and ${leastSeconds.hf} s. ${lombMethod} (Scargle, Astrophys J 1982;263:835), shown first; beside it ${welchMethod}. Means over volunteers are of ln power and ln RMSSD. SD1 and SD2 of the Poincare plot (Brennan et al. 2001); DFA alpha1 over 4 to 16 beats (Peng et al., Chaos 1995;5:82).`,
    'Intervals of an odd length are counted, not corrected. What the data cannot support is given as not computable, with the reason.',
  ].join(' ');
}

function planningText({ statistics: { planning } }: ReportSettings): string {
  return `${capital(studyMethods.planning)}: width ${planning.widthPercent} percentage points from end to end of a ${Math.round(100 * planning.level)} % interval in at least ${Math.round(100 * planning.assurance)} of 100 simulated studies; ${planning.studies} studies for each number, seed ${planning.seed}, up to ${planning.mostVolunteers} volunteers.`;
}
