import { type BootstrapSettings, bootstrapMethods, defaultBootstrapSettings } from '../score/bootstrap';
import { bootstrapTMethod } from '../score/bootstrap-t';
import { clusterJackknifeMethod, clusterRatioMethod } from '../score/cluster-ratio';
import { effectiveDifferenceMethod, effectiveSizeMethod } from '../score/effective-size';
import { errorRunsMethod } from '../score/error-runs';
import { detectedMethods, type Margins } from './detected-agreement';
import { defaultPlanningSettings, type Planning, type PlanningSettings, planVolunteers } from './planning';
import { type DifferenceRow, pairedDifferences, type QualityRow, qualityTable, type StudyCell } from './quality-table';
import { type AgreementCell, type AgreementRow, agreementTable } from './recorder-agreement';

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
  readonly planning: readonly { readonly recorder: string; readonly plan: Planning }[];
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
  difference: `paired difference of two recorders over the volunteers that wore both; shown first, and the one to read, ${effectiveDifferenceMethod}; beside it the bootstrap-t interval, and ${clusterJackknifeMethod}`,
  detectedLimits: detectedMethods.limits,
  detectedRegression: detectedMethods.regression,
  detectedConcordance: detectedMethods.concordance,
  equivalence: detectedMethods.equivalence,
  blandAltman:
    'Bland & Altman, J Biopharm Stat 2007;17:571, repeated pairs with varying true value; intervals of the limits by MOVER (Zou, Stat Methods Med Res 2013;22:630)',
  concordance: 'Lin, Biometrics 1989;45:255, moments with divisor n',
  icc: 'ICC(2,1) and ICC(3,1), Shrout & Fleiss, Psychol Bull 1979;86:420',
  error: 'mean absolute error, and mean absolute percentage error relative to the second recorder',
  planning:
    'volunteers at hand drawn with replacement; smallest number for which the wanted share of studies is narrow enough',
} as const;

/** All numbers of a study as plain data: the same input and settings give the same output. */
export function studyNumbers(input: StudyInput, settings: StudySettings = defaultStudySettings): StudyNumbers {
  const quality = qualityTable(input.cells, settings.bootstrap);
  return {
    settings,
    methods: studyMethods,
    quality,
    differences: pairedDifferences(input.cells, settings.bootstrap),
    agreement: input.agreement.length > 0 ? agreementTable(input.agreement, settings.bootstrap) : [],
    planning: quality
      .filter(row => row.activity === null)
      .map(row => ({ recorder: row.recorder, plan: planFor(row, settings.planning) })),
  };
}

function planFor(row: QualityRow, settings: PlanningSettings): Planning {
  const known = row.perVolunteer.flatMap(({ quality }) =>
    quality.value === null ? [] : [{ whole: quality.n, right: Math.round((quality.value * quality.n) / 100) }],
  );
  return planVolunteers(
    known.map(k => k.right),
    known.map(k => k.whole),
    settings,
  );
}
