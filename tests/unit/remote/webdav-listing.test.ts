import { expect, test } from 'vitest';
import { webdavStore } from '../../../src/remote/webdav-store';

/** source: RFC 4918, sections 9.1 and 13 (multistatus); the first body as Apache httpd 2.4 writes it, the second by hand. */
function storeAnswering(body: string) {
  const headers = { date: 'Sat, 14 Feb 2026 10:00:10 GMT' };
  const fetch = async () => new Response(body, { status: 207, headers });
  return webdavStore({ base: 'https://lab.example/study/trial-1/', account: null, fetch });
}

const response = (href: string, tag: string, modified: string) => `<D:response xmlns:lp1="DAV:">
<D:href>${href}</D:href>
<D:propstat>
<D:prop>
<lp1:getetag>${tag}</lp1:getetag>
<lp1:getlastmodified>${modified}</lp1:getlastmodified>
</D:prop>
<D:status>HTTP/1.1 200 OK</D:status>
</D:propstat>
</D:response>
`;
const long = 'Sat, 14 Feb 2026 09:00:00 GMT';

test('names, folders and tags, in order of names; what is not in the folder is left out', async () => {
  const body = `<?xml version="1.0" encoding="utf-8"?>
<D:multistatus xmlns:D="DAV:" xmlns:ns0="DAV:">
${response('/study/trial-1/logs/R1/', '"1000-1"', long)}
${response('/study/trial-1/logs/R1/V02-am/', '"1000-2"', long)}
${response('/study/trial-1/logs/R1/V%C3%B61%20&amp;%25/', 'W/&quot;1&quot;', long)}
${response('/study/trial-1/logs/R1/A.json', '"7"', 'Sat, 14 Feb 2026 10:00:09 GMT')}
${response('/study/trial-1/logs/R2/V03-am/', '"9"', long)}
</D:multistatus>
`;
  expect(await storeAnswering(body).list('logs/R1/')).toEqual([
    // Changed within two seconds of the answer: no tag to rely on.
    { name: 'A.json', isFolder: false, tag: '' },
    { name: 'V02-am', isFolder: true, tag: '"1000-2"' },
    { name: 'Vö1 &%', isFolder: true, tag: 'W/"1"' },
  ]);
});

test('another prefix or none, whole addresses, properties that are not there', async () => {
  const body = `<multistatus xmlns="DAV:"><response><href>https://lab.example/study/trial-1/done/R1/</href></response>
<response><href> https://lab.example/study/trial-1/done/R1/V01.json </href><propstat><prop>
<getlastmodified>${long}</getlastmodified><getetag>"5"</getetag></prop><status>HTTP/1.1 200 OK</status></propstat></response>
<response><href>https://lab.example/study/trial-1/done/R1/V02.json</href><propstat><prop><getetag/></prop>
<status>HTTP/1.1 404 Not Found</status></propstat><responsedescription>no tag</responsedescription></response></multistatus>`;
  expect(await storeAnswering(body).list('done/R1/')).toEqual([
    { name: 'V01.json', isFolder: false, tag: '"5"' },
    { name: 'V02.json', isFolder: false, tag: '' },
  ]);
});

test('no listing, or that of another folder, is an error', async () => {
  await expect(storeAnswering('<html>Sign in</html>').list('logs/R1/')).rejects.toThrow('no listing');
  const other = `<D:multistatus xmlns:D="DAV:">${response('/study/trial-1/logs/R2/', '"1"', long)}</D:multistatus>`;
  await expect(storeAnswering(other).list('logs/R1/')).rejects.toThrow('another folder');
});
