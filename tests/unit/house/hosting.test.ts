import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import headers from '../../../public/hosting/headers.json' with { type: 'json' };

const folder = join(import.meta.dirname, '../../../public');

// source: Content Security Policy Level 3, sections 4.2 and 6; Fetch; HTML, section 7.1.3
test.each([
  ['hosting/nginx.conf', (name: string, value: string) => `add_header ${name} "${value}" always;`],
  ['hosting/httpd.conf', (name: string, value: string) => `Header always set ${name} "${value}"`],
  ['lab-store/nginx.conf', (name: string, value: string) => `add_header ${name} "${value}" always;`],
  ['lab-store/httpd.conf', (name: string, value: string) => `Header always set ${name} "${value}"`],
  ['hosting/Caddyfile', (name: string, value: string) => `${name} "${value}"`],
])('%s sends every header as the preview does', (file, line) => {
  const text = readFileSync(join(folder, file), 'utf8');
  for (const [name, value] of Object.entries(headers)) expect(text).toContain(line(name, value));
});

test('the policy lets nothing in or out but the page’s own origin, and nobody frame it', () => {
  const policy = headers['Content-Security-Policy'];
  expect(policy).toContain("default-src 'none'");
  expect(policy).toContain("frame-ancestors 'none'");
  expect(policy).not.toMatch(/unsafe|\*|https?:/);
});
