import { existsSync, readFileSync, statSync } from 'node:fs';
import { amount } from '../core/amount';
import { auditStore } from '../remote/audit';
import { printedHeads, readHeads } from '../remote/heads';
import { indexStore } from '../remote/index-store';
import { RemoteError } from '../remote/remote-error';
import type { RemoteStore } from '../remote/remote-store';
import { webdavStore } from '../remote/webdav-store';
import { type CliCommand, type Given, textFlag, UsageError } from './command';
import { folderStore } from './folder-store';

export const auditCommand: CliCommand = {
  name: 'audit',
  summary: "holds a study in a lab's store, or in a copy of it, against its hashes and the heads written down",
  usage: ['audit URL-OR-FOLDER [--user CODE --password-file FILE] [--engine apache|nginx] [--heads] [--json]'],
  flags: {
    user: { value: 'CODE', about: 'account of an auditor or a supervisor, for a URL' },
    'password-file': { value: 'FILE', about: 'file with the password in its first line' },
    engine: { value: 'NAME', about: 'apache (default) or nginx, for a URL' },
    heads: { about: 'prints all heads written down, to be kept elsewhere' },
    json: { about: 'findings as JSON' },
  },
  examples: [
    'audit /srv/beat-ledger/data/trial-1',
    'audit https://lab.example/study/trial-1/ --user A1 --password-file password.txt',
  ],
  details: 'The address ends in the name of the study. Exit code 0 when all is well, 1 when something is wrong.',
  async run(given, output) {
    if (given.files.length !== 1) throw new UsageError('audit takes one address or folder');
    const store = storeOf(given.files[0]!, given);
    try {
      if (given.flags['heads']) {
        for (const list of (await readHeads(store)).lists) output.print(`${printedHeads(list)}\n`);
        return 0;
      }
      const found = await auditStore(store);
      const sound = found.problems.length === 0;
      if (given.flags['json']) output.print(JSON.stringify({ sound, ...found }, null, 2));
      else {
        for (const problem of found.problems) output.print(problem);
        const { sessions, parts, logs, entries, signOffs, headLists } = found;
        output.print(
          `${sound ? 'Sound' : amount(found.problems.length, 'problem')}: ${amount(sessions, 'session')} in ${amount(parts, 'part')}, ${amount(logs, 'log')} with ${amount(entries, 'entry', 'entries')}, ${signOffs} signed off, ${amount(headLists, 'list')} of heads.`,
        );
      }
      return sound ? 0 : 1;
    } catch (error) {
      if (error instanceof RemoteError) throw new UsageError(`the store cannot be read: ${error.message}`);
      throw error;
    }
  },
};

function storeOf(place: string, given: Given): RemoteStore {
  if (!/^https?:\/\//.test(place)) {
    if (!existsSync(place)) throw new UsageError(`there is no folder ${place}`);
    if (!statSync(place).isDirectory()) throw new UsageError(`${place} is a file: give the folder of a study's store`);
    return folderStore(place);
  }
  const user = textFlag(given, 'user');
  const file = textFlag(given, 'password-file');
  if (!user || !file) throw new UsageError('an address needs --user and --password-file');
  if (!existsSync(file)) throw new UsageError(`there is no file ${file}`);
  const password = readFileSync(file, 'utf8').split(/\r?\n/)[0]!;
  const connection = { base: place.endsWith('/') ? place : `${place}/`, account: { user, password } };
  const engine = textFlag(given, 'engine') ?? 'apache';
  if (engine !== 'apache' && engine !== 'nginx') throw new UsageError(`there is no engine ${engine}`);
  return engine === 'nginx' ? indexStore(connection) : webdavStore(connection);
}
