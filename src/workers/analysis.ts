import type { analysisJobs } from './analysis-jobs';
import { openWorkerClient, type WorkerClient } from './worker-client';

/** Long computations off the page. */
export function openAnalysis(): WorkerClient<typeof analysisJobs> {
  return openWorkerClient(
    () => new Worker(new URL('./analysis.worker.ts', import.meta.url), { type: 'module' }),
    async () => (await import('./analysis-jobs')).analysisJobs,
  );
}
