import { connect } from 'node:net';

/** A request byte for byte: clients tidy an address up before they send it, a person with bad intent does not. */
export function rawly(
  base: string,
  user: string,
  method: string,
  address: string,
  headers: Readonly<Record<string, string>>,
): Promise<{ readonly status: number; readonly text: string }> {
  const { hostname, port, pathname } = new URL(base);
  const head = [
    `${method} ${pathname}${address} HTTP/1.1`,
    `Host: ${hostname}:${port}`,
    'Connection: close',
    `Authorization: Basic ${btoa(`${user}:pw-${user}`)}`,
    ...Object.entries(headers).map(([name, value]) => `${name}: ${value}`),
  ];
  return new Promise((resolve, reject) => {
    const socket = connect(Number(port), hostname, () => socket.write(`${head.join('\r\n')}\r\n\r\n`));
    let text = '';
    socket.setEncoding('latin1');
    socket.on('data', data => {
      text += data;
    });
    socket.on('error', reject);
    socket.on('close', () => resolve({ status: Number(/^HTTP\/1\.\d (\d{3})/.exec(text)?.[1] ?? 0), text }));
  });
}
