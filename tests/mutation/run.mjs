import { spawnSync } from 'node:child_process';
import { folders } from './folders.mjs';

/** One run a folder: all of them, or those named, e.g. `npm run mutation -- score formats-edf`; `formats` is all of it. */
const asked = process.argv.slice(2);
const known = Object.keys(folders);
const meant = name => known.filter(folder => folder === name || folder.startsWith(`${name}-`));
const unknown = asked.filter(name => meant(name).length === 0);
if (unknown.length > 0) {
  console.error(`no such folder: ${unknown.join(', ')}; there are ${known.join(', ')}`);
  process.exit(2);
}
for (const folder of asked.length > 0 ? asked.flatMap(meant) : known) {
  const env = { ...process.env, MUTATE: folder };
  const { status } = spawnSync('npx', ['stryker', 'run', 'tests/mutation/stryker.config.mjs'], {
    env,
    stdio: 'inherit',
  });
  if (status !== 0) process.exitCode = 1;
}
