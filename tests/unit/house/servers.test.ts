import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { expect, test } from 'vitest';

const module = JSON.stringify(join(import.meta.dirname, '../../servers.ts'));
/** A shell stands between, as npx does, and would leave what it started. */
const script = `
  import { startServer } from ${module};
  const server = startServer('sh', ['-c', 'sleep 600; true'], {});
  console.log(server.pid);
  setInterval(() => undefined, 1000);
`;

function starting(): ChildProcess {
  const args = ['--import', 'tsx', '--input-type=module', '-e', script];
  return spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] });
}

/** Whether a process of the group is left. */
function groupRuns(id: number): boolean {
  try {
    process.kill(-id, 0);
    return true;
  } catch {
    return false;
  }
}

test.skipIf(process.platform === 'win32').each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)(
  'a server of the tests ends with all that it started when they are stopped by %s',
  async signal => {
    const tests = starting();
    const [said] = (await once(tests.stdout!, 'data')) as [Buffer];
    const group = Number(said);
    expect(groupRuns(group)).toBe(true);
    tests.kill(signal);
    await once(tests, 'exit');
    await expect.poll(() => groupRuns(group), { timeout: 20_000 }).toBe(false);
  },
);
