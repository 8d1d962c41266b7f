import { amount } from '../amount';
import { notHere } from '../review/standing/looked-at';
import { heldOf100, type IntervalName, nearestSize } from './measured-coverage';
import type { SegmentRow, SessionTableRow } from './rows';
import type { SecondDetectorPass } from './second-detector';
import type { StudyNumbers } from './study-numbers';
import { hasNumber, volunteersWithNumber, withoutNumber } from './without-number';

/** What a reader must know before the numbers, made from what the study is. */

const segmentsInWords = (n: number) => amount(n, 'segment');

/** What the number of volunteers lets the intervals say. */
function sizeCautions(volunteers: number): string[] {
  if (volunteers === 0) return [];
  if (volunteers === 1) {
    return [
      'One volunteer: the numbers describe this volunteer and say nothing about others, so no interval over volunteers is given.',
    ];
  }
  const size = nearestSize(volunteers);
  const held = (name: IntervalName) => heldOf100(name, size);
  const simulated = `in simulated studies of ${size} volunteers the 95 % interval shown first held the true quality in ${held('effectiveSize')} of 100 studies, depending on the population, the percentile interval in ${held('percentile')}`;
  if (volunteers >= 30) {
    return [
      `The intervals are about people like these ${volunteers} volunteers and say nothing about others; ${simulated}.`,
    ];
  }
  return [
    `${volunteers} volunteers are few: a kind of person in whom the recorder does badly may not be among them. Read the interval shown first: ${simulated}.`,
  ];
}

/** Intervals of one table are not adjusted: how many there are is said. */
export function multiplicityCaution({ quality, differences }: StudyNumbers): string[] {
  const intervals = [...quality, ...differences].filter(({ pooledClustered: p }) => p.value !== null && p.interval);
  if (intervals.length < 2) return [];
  return [
    `${intervals.length} intervals of quality and its differences are given, none adjusted for their number: some may miss the truth by chance alone. Name the comparison that matters before you look.`,
  ];
}

/** Raters start from the marks under test: what that may have done, as far as it was looked into. */
function startCaution(second: SecondDetectorPass | null): string {
  const said =
    'Quality is judged against a rater’s reading of the same trace. Raters start from the marks under test, which draws their reading towards these marks';
  if (!second)
    return `${said}; a pass with the second detector, blind to them, shows how much it can be: ask for it when the report is computed.`;
  const heard = second.sums.filter(s => s.otherWay.value !== null);
  if (heard.length === 0) return `${said}; the second detector, blind to them, had nothing to say here: see its table.`;
  const places = heard.map(s => `${s.asFound} of ${s.beats} beats (${s.recorder})`).join(' and ');
  return `${said}. The second detector, blind to them, disagrees with marks that were left as found at ${places}: its table says what the quality would be if it were right there.`;
}

export function cautionsOf(
  sessions: readonly SessionTableRow[],
  segments: readonly SegmentRow[],
  second: SecondDetectorPass | null,
): string[] {
  const all = segmentsInWords(segments.length);
  const left = sessions.filter(s => s.source === null);
  const damaged = sessions.filter(s => s.damagedLogs);
  const open = sessions.filter(s => s.source?.endsWith(', not finished'));
  const final = segments.filter(s => s.standing.status === 'final');
  const sampled = segments.filter(s => s.standing.status === 'sampled').length;
  const neither = segments.length - final.length - sampled;
  const partly = final.filter(s => s.coverageShare !== null && s.coverageShare < 1);
  const unseen = partly.filter(s => s.coverageShare === 0).length;
  const unknown = segments.filter(s => s.coverageShare === null);
  return [
    'For research and teaching on signal quality. Not a medical device; not for diagnosis, monitoring or treatment.',
    'Possible abnormal rhythms are a matter for the study’s procedure for incidental findings and for qualified clinical staff; this report says nothing about them.',
    ...sizeCautions(volunteersWithNumber(segments)),
    startCaution(second),
    ...(left.length > 0
      ? [`Not counted, without a finished review: ${left.map(s => `${s.volunteer} (${s.session})`).join(', ')}.`]
      : []),
    ...(damaged.length > 0
      ? [
          `Damaged, and not counted: ${damaged.map(s => `${amount(s.damagedLogs!, 'log')} of ${s.volunteer} (${s.session})`).join(', ')}. Get the bundle again from who wrote it.`,
        ]
      : []),
    ...(open.length > 0 ? [`Counted though not finished: ${open.map(s => s.volunteer).join(', ')}.`] : []),
    ...(sampled > 0
      ? [
          `Reviewed as a sample, with quality alone, in a table of their own: ${sampled} of ${all}. Heart rate, HRV and agreement of recorders are not computable from a sample.`,
        ]
      : []),
    ...(neither > 0
      ? [`Not looked at in full, and left out of the numbers over volunteers: ${neither} of ${all}.`]
      : []),
    ...(partly.length > 0
      ? [
          `Signed off with a reason though not looked at in full: ${partly.length} of ${all}.${unseen > 0 ? ` Of ${unseen} of these nothing was looked at: there the recorder’s own marks stand for the beats.` : ''}`,
        ]
      : []),
    ...withoutNumberCaution(segments),
    ...overlapCaution(segments),
    ...unlikeCaution(segments),
    ...(unknown.length > 0
      ? [`How much of ${segmentsInWords(unknown.length)} was looked at is not known: ${notHere}.`]
      : []),
  ];
}

/** Recorders that were not worn by the same people doing the same: their own rows do not compare them. */
function unlikeCaution(segments: readonly SegmentRow[]): string[] {
  const placesOf = new Map<string, Set<string>>();
  for (const { recorder, volunteer, activity } of segments.filter(hasNumber)) {
    const places = placesOf.get(recorder) ?? new Set<string>();
    placesOf.set(recorder, places.add(`${volunteer}\n${activity}`));
  }
  if (placesOf.size < 2) return [];
  const all = new Set([...placesOf.values()].flatMap(places => [...places]));
  const inAll = [...all].filter(place => [...placesOf.values()].every(places => places.has(place))).length;
  if (inAll === all.size) return [];
  return [
    `Not every recorder has every volunteer in every activity: ${inAll} of ${all.size} such places are with all recorders. Compare recorders by their paired difference, which uses what both have, and not by their rows in the table of quality.`,
  ];
}

/** Segments that lie over one another: their common part is in the numbers over all activities more than once. */
function overlapCaution(segments: readonly SegmentRow[]): string[] {
  const overlapping = segments.filter((a, i) =>
    segments.some(
      (b, j) =>
        j < i &&
        a.session === b.session &&
        // A recorder may have several recordings in a session, each with a start of its own.
        a.recordingId === b.recordingId &&
        a.startSeconds < b.endSeconds &&
        b.startSeconds < a.endSeconds,
    ),
  );
  if (overlapping.length === 0) return [];
  const places = [...new Set(overlapping.map(s => `${s.volunteer}, ${s.recorder}`))];
  return [
    `Segments overlap (${places.join('; ')}): what lies in two of them counts in each, and twice over all activities.`,
  ];
}

/** What is left out because nothing could be counted in it: where that is for noise, the rest looks better than all did. */
function withoutNumberCaution(segments: readonly SegmentRow[]): string[] {
  const left = withoutNumber(segments);
  if (left.length === 0) return [];
  const all = segmentsInWords(segments.length);
  const n = left.reduce((sum, l) => sum + l.segments, 0);
  const places = left.map(l => `${l.volunteer}, ${l.recorder} (${segmentsInWords(l.segments)}: ${l.reason})`);
  const unread = left.some(l => l.reason === 'no readable beat')
    ? ' Where no beat could be read the recorder gave no right interval: with these the quality would be lower.'
    : '';
  return [
    `Quality is not computable, and left out of the numbers over volunteers, in ${n} of ${all}: ${places.join('; ')}.${unread}`,
  ];
}
