import { type BootstrapSettings, bootstrapMethods, defaultBootstrapSettings } from '../score/bootstrap';
import { bootstrapTMethod } from '../score/bootstrap-t';
import { clusterJackknifeMethod, clusterRatioMethod } from '../score/cluster-ratio';
import { effectiveDifferenceMethod, effectiveSizeMethod } from '../score/effective-size';
import { errorRunsMethod } from '../score/error-runs';
import { type Computed, notComputable } from '../score/result';
import { detectedMethods, type Margins } from './pairs/detected-agreement';
import { type AgreementCell, type AgreementRow, agreementTable } from './pairs/recorder-agreement';
import {
  defaultPlanningSettings,
  type Pilot,
  type Planning,
  type PlanningSettings,
  planDifference,
  planningMethods,
  planVolunteers,
} from './plans/planning';
import { shownWidth } from './plans/shown-width';
import {
  type DifferenceRow,
  pairedDifferences,
  type QualityRow,
  ratiosOfBoth,
  type StudyCell,
  studyQuality,
} from './quality-table';

/** Everything a study's numbers are computed from. */
export interface StudyInput {
  readonly cells: readonly StudyCell[];
  /** Paired values of two recorders on one body; empty where a study has one recorder. */
  readonly agreement: readonly AgreementCell[];
}

export interface StudySettings {
  readonly bootstrap: BootstrapSettings;
  readonly planning: PlanningSettings;
  /** What a bias between recorders may be to count as none; without one there is no test. */
  readonly margins?: Margins;
}

export const defaultStudySettings: StudySettings = {
  bootstrap: defaultBootstrapSettings,
  planning: defaultPlanningSettings,
};

export interface StudyNumbers {
  readonly settings: StudySettings;
  /** Variant and source of each kind of number, for the methods paragraph. */
  readonly methods: Readonly<Record<string, string>>;
  readonly quality: readonly QualityRow[];
  readonly differences: readonly DifferenceRow[];
  readonly agreement: readonly AgreementRow[];
  /** One for each recorder, over all activities. */
  readonly planning: readonly {
    readonly recorder: string;
    readonly plan: Planning;
    /** Median width of the interval shown first in the tables of quality, with so many volunteers; see shownWidth. */
    readonly shownWidthPercent: Computed;
  }[];
}

export const studyMethods = {
  quality: 'quality % = 100 x right / (judged + lost) RR intervals, pooled over volunteers, with counts',
  pooledClustered: effectiveSizeMethod,
  segment: errorRunsMethod,
  jackknife: clusterRatioMethod,
  percentile: bootstrapMethods.percentile,
  bca: bootstrapMethods.bca,
  expandedPercentile: bootstrapMethods.expandedPercentile,
  expandedBca: bootstrapMethods.expandedBca,
  bootstrapT: bootstrapTMethod,
  differenceInterval: effectiveDifferenceMethod,
  difference: `paired difference of two recorders over the volunteers that wore both, of each in the activities that both recorders have; shown first, and the one to read, ${effectiveDifferenceMethod}; beside it the bootstrap-t interval, and ${clusterJackknifeMethod}`,
  detectedLimits: detectedMethods.limits,
  detectedRegression: detectedMethods.regression,
  detectedConcordance: detectedMethods.concordance,
  equivalence: detectedMethods.equivalence,
  blandAltman:
    'Bland & Altman, J Biopharm Stat 2007;17:571, repeated pairs with varying true value; intervals of the limits by MOVER (Zou, Stat Methods Med Res 2013;22:630)',
  concordance: 'Lin, Biometrics 1989;45:255, moments with divisor n',
  icc: 'ICC(2,1) and ICC(3,1), Shrout & Fleiss, Psychol Bull 1979;86:420',
  error: 'mean absolute error, and mean absolute percentage error relative to the second recorder',
  planning: `smallest number of volunteers for which the wanted share of simulated studies is narrow enough; ${planningMethods.quality}`,
} as const;

/** All numbers of a study as plain data: the same input and settings give the same output. */
export function studyNumbers(input: StudyInput, settings: StudySettings = defaultStudySettings): StudyNumbers {
  const quality = studyQuality(input.cells, settings.bootstrap);
  return {
    settings,
    methods: studyMethods,
    quality,
    differences: pairedDifferences(input.cells, settings.bootstrap),
    agreement: input.agreement.length > 0 ? agreementTable(input.agreement, settings.bootstrap) : [],
    planning: plansOf(
      quality.filter(row => row.activity === null),
      input.cells,
      settings.planning,
    ),
  };
}

/** For the quality of each recorder, and for the difference of each pair; of pairs the recorder reads 'A − B'. */
function plansOf(
  rows: readonly QualityRow[],
  cells: readonly StudyCell[],
  settings: PlanningSettings,
): StudyNumbers['planning'] {
  const names = [...new Set(rows.flatMap(r => r.perVolunteer.map(v => v.volunteer)))];
  const pilots = rows.map(row => pilotOf(row, names));
  const shown = (plan: Planning, of: readonly [Pilot] | readonly [Pilot, Pilot]) =>
    plan.volunteers.value === null
      ? notComputable('no number of volunteers')
      : shownWidth(of, plan.volunteers.value, settings);
  const alone = rows.map(({ recorder }, i) => {
    const plan = planVolunteers(pilots[i]!, settings);
    return { recorder, plan, shownWidthPercent: shown(plan, [pilots[i]!]) };
  });
  const pairs = rows.flatMap((a, i) =>
    rows.slice(i + 1).map(b => {
      const [first, second] = ratiosOfBoth(cells, a.recorder, b.recorder);
      const both = [
        { right: first.parts, whole: first.wholes },
        { right: second.parts, whole: second.wholes },
      ] as const;
      const plan = planDifference(...both, settings);
      return { recorder: `${a.recorder} − ${b.recorder}`, plan, shownWidthPercent: shown(plan, both) };
    }),
  );
  return [...alone, ...pairs];
}

/** Counts of each volunteer by name; 0 of 0 where there is no quality. */
function pilotOf({ perVolunteer }: QualityRow, names: readonly string[]): Pilot {
  const own = new Map(perVolunteer.map(v => [v.volunteer, v.quality] as const));
  const counts = names.map(name => {
    const quality = own.get(name);
    if (!quality || quality.value === null) return [0, 0] as const;
    return [Math.round((quality.value * quality.n) / 100), quality.n] as const;
  });
  return { right: counts.map(c => c[0]), whole: counts.map(c => c[1]) };
}
