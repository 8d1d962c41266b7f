import type { ReportBeginning } from '../core/report/beginning';
import type { ReportData } from '../core/report/report';
import { agreementFigure } from './figures/agreement-figure';
import { curvesFigures } from './figures/curves-figure';
import type { Figure } from './figures/figure';
import { hrvFigure } from './figures/hrv-figure';
import { mistakesFigure } from './figures/mistakes-figure';
import { planningFigure } from './figures/planning-figure';
import { qualityFigure } from './figures/quality-figure';
import { stripFigure } from './figures/strip-figure';

/** Null where no segment has a quality of its own: a sample is in a table alone. */
export interface QualityFigures {
  readonly quality: Figure | null;
  readonly mistakes: Figure | null;
}

/** The figures of a report, by the place they have in it. */
export interface ReportFigures extends QualityFigures {
  /** One for each pair of recorders. */
  readonly agreement: readonly Figure[];
  /** Null where no segment has heart rate or HRV. */
  readonly hrv: Figure | null;
  readonly planning: Figure | null;
  readonly examples: readonly Figure[];
  /** One for each recording, or several where it has many segments. */
  readonly curves: readonly Figure[];
}

const hasQuality = ({ numbers }: ReportBeginning) => numbers.quality.length > 0;
const hasHrv = ({ hrv }: ReportData) => hrv.effects.length > 0;

export function qualityFigures(data: ReportBeginning): QualityFigures {
  return hasQuality(data)
    ? { quality: qualityFigure(data), mistakes: mistakesFigure(data) }
    : { quality: null, mistakes: null };
}

/** `first`: those of the beginning, where they are drawn already. */
export function reportFigures(data: ReportData, first: QualityFigures = qualityFigures(data)): ReportFigures {
  return {
    ...first,
    agreement: data.agreement.map((pair, i) => agreementFigure(pair, data.activities, i + 1)),
    hrv: hasHrv(data) ? hrvFigure(data) : null,
    planning: planningFigure(data),
    examples: data.examples.map((strip, i) => stripFigure(strip, i + 1)),
    curves: curvesFigures(data.curves),
  };
}

/** What the figures of a report were made from, for their files; every setting is in report.json. */
export function figureFacts({ writtenBy, title, settings, sessions, audit }: ReportData): object {
  const { match, statistics, includeUnfinished } = settings;
  const sources = sessions.flatMap(s =>
    s.recordings.map(({ id, source, origin, detectedBy }) => ({ session: s.session, id, source, origin, detectedBy })),
  );
  const counted = new Map(sessions.map(s => [s.session, s.source]));
  const reviews = audit
    .filter(a => counted.get(a.session) === a.source)
    .map(({ session, source, entries, lastHash }) => ({ session, source, entries, lastHash }));
  return { writtenBy, title, settings: { match, statistics, includeUnfinished }, recordings: sources, reviews };
}

/** Drawn for one column of a journal as well; without the curves, whose many points take long to hand over. */
export function narrowFigures(data: ReportData): Figure[] {
  const planning = planningFigure(data, 'one column');
  return [
    ...(hasQuality(data) ? [qualityFigure(data, 'one column'), mistakesFigure(data, 'one column')] : []),
    ...data.agreement.map((pair, i) => agreementFigure(pair, data.activities, i + 1, 'one column')),
    ...(hasHrv(data) ? [hrvFigure(data, 'one column')] : []),
    ...(planning ? [planning] : []),
    ...data.examples.map((strip, i) => stripFigure(strip, i + 1, 'one column')),
  ];
}

/** The curves of each recording, drawn for one column. */
export const narrowCurves = (data: ReportData): Figure[] => curvesFigures(data.curves, 'one column');

export function allFigures(figures: ReportFigures): Figure[] {
  const { quality, mistakes, agreement, hrv, planning, examples, curves } = figures;
  return [quality, mistakes, ...agreement, hrv, planning, ...examples, ...curves].flatMap(figure => figure ?? []);
}
