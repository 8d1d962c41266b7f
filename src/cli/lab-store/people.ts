import { spawnSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { UsageError } from '../command';
import { groupsFile, peopleFile, rolesFile } from './places';

/**
 * Annotators and settlers belong to no group: what they may do follows from what is assigned to them. Supervisors assign
 * and read everything, auditors read everything.
 */
export const roles = ['annotator', 'settler', 'supervisor', 'auditor'] as const;
export type Role = (typeof roles)[number];

/** Letters, digits, `_`, `.`, `@` and `-`: what the configurations take for the owner of a folder. */
const codePattern = /^[A-Za-z0-9_@][A-Za-z0-9_.@-]{0,63}$/;

/** Adds an account, or gives it a new password and role. */
export function setPerson(root: string, code: string, role: Role, password: string): void {
  if (!codePattern.test(code)) {
    throw new UsageError(
      `a code has letters, digits, "_", ".", "@" and "-", and does not begin with a dot: not ${code}`,
    );
  }
  const alike = [...readRoles(root).keys()].find(c => c !== code && c.toLowerCase() === code.toLowerCase());
  // nginx looks up roles without regard to case.
  if (alike) throw new UsageError(`there is a ${alike} already, which differs only in capital letters`);
  const file = peopleFile(root);
  // The password goes through a pipe: arguments can be read by everybody on the machine.
  const args = [...(existsSync(file) ? [] : ['-c']), '-i', '-B', file, code];
  const run = spawnSync('htpasswd', args, { input: `${password}\n`, encoding: 'utf8' });
  if (run.error) throw new UsageError('there is no htpasswd: install it with apt-get install apache2-utils');
  if (run.status !== 0) throw new Error(`htpasswd: ${run.stderr.trim()}`);
  writeRoles(root, new Map(readRoles(root)).set(code, role));
}

/** Accounts and their roles, as `etc/groups` and `etc/passwd` have them; who is in no group is an annotator. */
function readRoles(root: string): ReadonlyMap<string, Role> {
  const found = new Map<string, Role>();
  for (const line of linesOf(peopleFile(root))) found.set(line.slice(0, line.indexOf(':')), 'annotator');
  for (const line of linesOf(groupsFile(root))) {
    const [group, members] = line.split(':');
    const role = roles.find(r => r === group);
    for (const member of (members ?? '').split(' ').filter(m => m !== '')) if (role) found.set(member, role);
  }
  return found;
}

/** The same for both servers: groups for Apache, one line an account for the map of nginx. */
function writeRoles(root: string, byCode: ReadonlyMap<string, Role>): void {
  const members = (role: Role) => [...byCode].filter(([, r]) => r === role).map(([code]) => code);
  writeFileSync(groupsFile(root), roles.map(role => `${role}: ${members(role).join(' ')}\n`).join(''));
  writeFileSync(rolesFile(root), [...byCode].map(([code, role]) => `"${code}" ${role};\n`).join(''));
}

function linesOf(file: string): string[] {
  return existsSync(file)
    ? readFileSync(file, 'utf8')
        .split('\n')
        .filter(line => line !== '')
    : [];
}

/** 80 random bits in groups that can be read aloud; no letter that is taken for another. */
export function newPassword(): string {
  const letters = 'abcdefghjkmnpqrstuvwxyz23456789';
  const drawn: string[] = [];
  while (drawn.length < 16) {
    // Bytes beyond the last whole multiple would make the first letters likelier.
    const byte = randomBytes(1)[0]!;
    if (byte < letters.length * Math.floor(256 / letters.length)) drawn.push(letters[byte % letters.length]!);
  }
  return [0, 4, 8, 12].map(i => drawn.slice(i, i + 4).join('')).join('-');
}
