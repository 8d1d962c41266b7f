import { AwsClient } from 'aws4fetch';

/**
 * What an S3 store (Ceph's gateway, started by radosgw.sh) does of what a lab's store needs, as a table:
 * `tsx tests/reference/s3/tried.ts`. The last run is in tests/README.md.
 */
const bucket = 'http://127.0.0.1:18480/study';
const createOnly = { 'if-none-match': '*' };

const clientOf = (user: string) =>
  new AwsClient({
    accessKeyId: `key-${user}`,
    secretAccessKey: `secret-${user}`,
    service: 's3',
    region: 'default',
    retries: 0,
  });
const [boss, r1, r2] = [clientOf('boss'), clientOf('R1'), clientOf('R2')];

async function put(client: AwsClient, key: string, body: string, headers: Record<string, string> = createOnly) {
  const answer = await client.fetch(`${bucket}/${key}`, { method: 'PUT', body, headers });
  await answer.text();
  return answer.status;
}

async function ask(client: AwsClient, path: string, init: RequestInit = {}) {
  const answer = await client.fetch(`${bucket}${path}`, init);
  return { status: answer.status, text: await answer.text() };
}

const say = (what: string, ...found: unknown[]) => console.log(`| ${what} | ${found.join(', ')} |`);

/** 16 writers of one name at once. */
async function race(rounds: number): Promise<void> {
  let [oneWinner, itsBytes] = [0, 0];
  for (let i = 0; i < rounds; i++) {
    const bodies = Array.from({ length: 16 }, (_, k) => `body ${k} `.repeat(60));
    const answers = await Promise.all(bodies.map(body => put(boss, `race/${i}`, body)));
    const won = bodies.filter((_, k) => answers[k] === 200);
    if (won.length === 1) oneWinner++;
    if ((await ask(boss, `/race/${i}`)).text === won[0]) itsBytes++;
  }
  say(`16 writers of one name, ${rounds} rounds: with one winner, holding its bytes`, oneWinner, itsBytes);
}

const allow = (user: string, action: string[], resource: string, more = {}) => ({
  Effect: 'Allow',
  Principal: { AWS: [`arn:aws:iam:::user/${user}`] },
  Action: action,
  Resource: [resource],
  ...more,
});
const own = (user: string) => allow(user, ['s3:PutObject', 's3:GetObject'], `arn:aws:s3:::study/logs/${user}/*`);
const rights = [own('R1'), own('R2')];
const setPolicy = (statements: readonly object[]) =>
  ask(boss, '?policy', { method: 'PUT', body: JSON.stringify({ Version: '2012-10-17', Statement: statements }) });

async function main(): Promise<void> {
  await ask(boss, '', { method: 'PUT' });
  say('PUT with If-None-Match: *, again', await put(boss, 'a', 'one'), await put(boss, 'a', 'two'));
  say('GET with Range', (await ask(boss, '/a', { headers: { range: 'bytes=1-2' } })).status);
  await race(100);
  await setPolicy(rights);
  say('R1: own log, that of R2', await put(r1, 'logs/R1/a', 'x'), await put(r1, 'logs/R2/a', 'x'));
  say(
    'R2: GET and DELETE of the log of R1',
    ...(await Promise.all([ask(r2, '/logs/R1/a'), ask(r2, '/logs/R1/a', { method: 'DELETE' })])).map(a => a.status),
  );
  say('R1: DELETE of the own log', (await ask(r1, '/logs/R1/a', { method: 'DELETE' })).status);
  say('R1: PUT over the own log without If-None-Match', await put(r1, 'logs/R1/a', 'other', {}));
  const condition = { Effect: 'Deny', Condition: { Null: { 's3:if-none-match': 'true' } } };
  await setPolicy([...rights, { ...own('R1'), ...condition }]);
  say(
    'a policy that asks for If-None-Match: with it, without',
    await put(r1, 'logs/R1/b', 'x'),
    await put(r1, 'logs/R1/c', 'x', {}),
  );
  await setPolicy(rights);
  const enabled = '<VersioningConfiguration><Status>Enabled</Status></VersioningConfiguration>';
  await ask(boss, '?versioning', { method: 'PUT', body: enabled });
  say('with versions kept: PUT with If-None-Match: * over what is there', await put(boss, 'a', 'three'));
}

void main();
