import type { importJobs } from './import-jobs';
import { openWorkerClient, type WorkerClient } from './worker-client';

/** Imports run one after the other or side by side in one worker, which is started by the first. */
export function openImporter(): WorkerClient<typeof importJobs> {
  return openWorkerClient(
    () => new Worker(new URL('./import.worker.ts', import.meta.url), { type: 'module' }),
    async () => (await import('./import-jobs')).importJobs,
  );
}
