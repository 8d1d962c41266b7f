import { amount } from '../core/amount';
import type { ReportData } from '../core/report/report';
import { raterOf } from '../core/review/raters/compare';
import { fixed } from './numbers';
import { type ReportTable, table } from './tables/table';

/**
 * Items that journals ask for, in our words, with what the study knows of each: agreement studies after GRRAS (Kottner et
 * al., J Clin Epidemiol 2011;64:96) and heart rate by worn recorders after the INTERLIVE network (Mühlen et al., Br J
 * Sports Med 2021;55:767). The items are from memory; authors compare them with the papers.
 */

const byAuthors = 'to be filled in by the authors';

/** What the study knows of an item; null: nothing. */
type Answer = (data: ReportData) => string | null;
type Item = readonly [name: string, answer: Answer];

const unknown: Answer = () => null;

/** Who rated: finished reviews, and those that count; a later rating, 'R1.2', is by the same rater. */
const ratersOf = ({ audit, sessions }: ReportData) => {
  const counts = (a: ReportData['audit'][number]) =>
    a.finished || sessions.some(s => s.session === a.session && s.source === a.source);
  return [...new Set(audit.filter(a => a.role === 'rater' && counts(a)).map(a => raterOf(a.rater)))];
};

/** Sessions that two people rated; those with a settlement were, also where their two ratings are not here. */
const ratedByTwo = ({ sessions, raters }: ReportData) => {
  const paired = new Set(raters.rows.filter(r => r.repeatedBy === null).map(r => r.session));
  return sessions.filter(s => s.settled || paired.has(s.session));
};

const ratedTwice: Answer = data =>
  `${amount(data.volunteers.length, 'volunteer')}; ${amount(ratedByTwo(data).length, 'session')} rated by more than one`;

const agreementOfRaters: Answer = data => {
  if (data.raters.total) return 'see the table of raters';
  return ratedByTwo(data).length > 0 ? 'the ratings that were settled are not here' : 'one rating each: none';
};

const margins: Answer = ({ settings }) => {
  const named = Object.entries(settings.statistics.margins ?? {});
  return named.length > 0 ? named.map(([measure, margin]) => `${measure} ±${margin}`).join(', ') : null;
};

const grras: readonly Item[] = [
  ['agreement or reliability named in title or abstract', unknown],
  ['device and measurement described', ({ recorders }) => `recorders: ${recorders.join(', ')}; see Recordings`],
  ['population of subjects', unknown],
  ['population of raters, their training and experience', unknown],
  ['what is known already, and why this study', unknown],
  ['how the sample size was chosen', unknown],
  ['how subjects and raters were sampled', unknown],
  [
    'rating process: material, order, blinding',
    ({ study }) => (study?.protocol ? 'see Review and the protocol' : 'see Review'),
  ],
  [
    'ratings made independently',
    ({ raters }) => (raters.total ? 'see Review; first and last entry of each log are in the audit' : null),
  ],
  ['statistical analysis', () => 'see Uncertainty and Agreement'],
  [
    'numbers of raters, subjects and replicates included',
    data => `${amount(ratersOf(data).length, 'rater')} (${ratersOf(data).join(', ')}); ${ratedTwice(data)}`,
  ],
  ['characteristics of raters and subjects', unknown],
  ['estimates with their uncertainty', agreementOfRaters],
  ['practical relevance', unknown],
  ['detailed results', () => 'CSV files, report.json and codebook.csv beside this report'],
];

const interlive: readonly Item[] = [
  [
    'subjects: number, age, sex, body mass, skin tone, health',
    ({ volunteers }) => `number: ${volunteers.length}; the rest ${byAuthors}`,
  ],
  ['criterion: ECG, its leads and sampling rate, who reviewed it', criterion],
  [
    'recorders: make, model, firmware, place on the body',
    ({ recorders }) => `named: ${recorders.join(', ')}; the rest ${byAuthors}`,
  ],
  [
    'activities, their intensity and length',
    ({ activities }) => (activities.length > 0 ? `${activities.join(', ')}; intensity ${byAuthors}` : null),
  ],
  ['places: laboratory, semi-structured, free living', unknown],
  [
    'synchronization of the recorders',
    ({ clocks }) => (clocks.length > 0 ? 'see Two recorders and the table of clocks' : 'one recorder'),
  ],
  ['handling of artefacts and missing data', ({ numbers }) => lostShare(numbers.quality)],
  ['length of the epochs compared', () => 'heart rate per minute; RR interval by interval'],
  ['bias and limits of agreement', () => 'see the tables “Mistakes included”'],
  ['mean absolute error and mean absolute percentage error', () => 'see the supplement'],
  ['margin that counts as equivalent, named beforehand', margins],
];

function criterion({ sessions }: ReportData): string {
  const rates = [...new Set(sessions.flatMap(s => s.recordings.map(r => `${r.samplingRateHz} Hz`)))];
  return `reviewed by eye on each recorder’s own ECG, ${rates.join(', ')}`;
}

function lostShare(quality: ReportData['numbers']['quality']): string | null {
  const all = quality.filter(q => q.activity === null && q.judged + q.lost > 0);
  const words = all.map(q => `${q.recorder} ${fixed((100 * q.lost) / (q.judged + q.lost), 1)} %`);
  return words.length > 0 ? `intervals lost to noise and gaps are counted as mistakes: ${words.join(', ')}` : null;
}

interface Row {
  readonly list: string;
  readonly item: string;
  readonly answer: string;
}

export function checklistTable(data: ReportData): ReportTable {
  const rowsOf = (list: string, items: readonly Item[]) =>
    items.map(([item, answer], i): Row => ({ list, item: `${i + 1}. ${item}`, answer: answer(data) ?? byAuthors }));
  return table<Row>(
    {
      id: 'checklist',
      caption: 'Reporting items, filled in where the study knows them',
      rowHeads: 2,
      notes: [
        'Items in short, after GRRAS (Kottner et al., J Clin Epidemiol 2011;64:96) and INTERLIVE (Mühlen et al., Br J Sports Med 2021;55:767); compare them with the papers before you submit.',
      ],
    },
    [
      ['list', r => r.list],
      ['item', r => r.item],
      ['where, or what', r => r.answer],
    ],
    [...rowsOf('GRRAS', grras), ...rowsOf('INTERLIVE', interlive)],
  );
}
