import type { CheckFinding } from '../core/known-answers/known-answer';
import { appName, appVersion } from '../core/report/version';
import { openAnalysis } from '../workers/analysis';

/** What stands above the findings in a study's notes. */
export function checkedWhat(now: Date): string[] {
  return [`${appName} ${appVersion}`, navigator.userAgent, `checked ${now.toISOString()}`];
}

/** Recomputes the known answers where the page computes: in the analysis worker. */
export async function checkThisBrowser(): Promise<CheckFinding[]> {
  const analysis = openAnalysis();
  try {
    return await analysis.start('selfCheck', {}).done;
  } finally {
    analysis.close();
  }
}
