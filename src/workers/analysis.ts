import type { analysisJobs } from './analysis-jobs';
import { type Door, openDoor } from './worker-client';

/** Long computations off the page. */
export function openAnalysis(): Door<typeof analysisJobs> {
  return openDoor(
    () => new Worker(new URL('./analysis.worker.ts', import.meta.url), { type: 'module' }),
    async () => (await import('./analysis-jobs')).analysisJobs,
  );
}
