import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type CliCommand, type Given, numberFlag, type Output, textFlag, UsageError } from '../command';
import { engineNamed, runningEngine, startEngine, stopEngine } from './engine';
import { newPassword, type Role, roles, setPerson } from './people';
import { makeFolders, type StorePlaces } from './places';

const builtPage = join(import.meta.dirname, '../../../dist');

export const labStoreCommand: CliCommand = {
  name: 'lab-store',
  summary: "a lab's own store on this machine, for a try; public/lab-store/README.md tells how to run one for good",
  usage: [
    'start --dir DIR --port PORT [--person CODE --role ROLE] [--engine apache|nginx]',
    'person --dir DIR --person CODE --role ROLE',
    'stop --dir DIR',
  ],
  flags: {
    dir: { value: 'DIR', about: 'folder of the store; made where it is not there' },
    port: {
      value: 'PORT',
      about: 'the address is 127.0.0.1:PORT; the two ports after it must be free too (default 8080)',
    },
    person: { value: 'CODE', about: 'adds an account, or gives it a new password; a rater is known by the code' },
    role: { value: 'ROLE', about: `${roles.join(', ')} (default annotator)` },
    engine: { value: 'NAME', about: 'apache (default) or nginx' },
    page: { value: 'DIR', about: 'the built page (default dist/, made by npm run build)' },
  },
  examples: [],
  async run(given, output) {
    const [action, ...rest] = given.files;
    if (rest.length > 0) throw new UsageError(`one action at a time, not ${given.files.join(' ')}`);
    if (action !== 'start' && action !== 'person' && action !== 'stop')
      throw new UsageError(`lab-store start, person or stop${action ? `, not ${action}` : ''}`);
    const root = resolve(required(given, 'dir'));
    if (action === 'start') await start(given, root, output);
    else if (action === 'person') addPerson(given, root, output);
    else output.print((await stopEngine(root)) ? 'Stopped.' : 'Nothing runs there.');
    return 0;
  },
};

async function start(given: Given, root: string, output: Output): Promise<void> {
  const running = runningEngine(root);
  if (running) {
    if (textFlag(given, 'person')) addPerson(given, root, output);
    output.print(`Runs already at ${address(running.places)}`);
    return;
  }
  const dist = resolve(textFlag(given, 'page') ?? builtPage);
  if (!existsSync(join(dist, 'index.html')))
    throw new UsageError(`there is no built page in ${dist}: run npm run build`);
  const port = numberFlag(given, 'port', 1024) ?? 8080;
  if (!Number.isInteger(port) || port > 65_533)
    throw new UsageError(`--port needs a whole number up to 65533, not ${port}`);
  const engine = engineNamed(textFlag(given, 'engine') ?? 'apache');
  if (textFlag(given, 'person')) addPerson(given, root, output);
  await startEngine(engine, { root, dist, port });
  output.print(`The page and the store are at ${address({ port })}`);
  output.note('on this machine only and without TLS: for a try. See public/lab-store/README.md.');
}

function addPerson(given: Given, root: string, output: Output): void {
  const code = required(given, 'person');
  const role = textFlag(given, 'role') ?? 'annotator';
  if (!roles.some(r => r === role)) throw new UsageError(`--role is one of ${roles.join(', ')}, not ${role}`);
  const password = newPassword();
  makeFolders(root);
  setPerson(root, code, role as Role, password);
  const running = runningEngine(root);
  running?.engine.reload(running.places);
  output.print(`${code}, ${role}, password ${password}`);
}

const address = ({ port }: Pick<StorePlaces, 'port'>) => `http://127.0.0.1:${port}/`;

function required(given: Given, name: string): string {
  const value = textFlag(given, name);
  if (value === undefined) throw new UsageError(`--${name} is needed`);
  return value;
}
