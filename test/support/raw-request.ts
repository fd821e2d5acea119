import { type IncomingHttpHeaders, request } from 'node:http';

interface RawAnswer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

/** A call with exactly the given path and headers: fetch would correct the Host and normalise the path. */
export function rawRequest(
  url: string,
  path: string,
  given: { method?: string; headers?: Record<string, string>; body?: string } = {},
): Promise<RawAnswer> {
  const { hostname, port } = new URL(url);
  return new Promise((resolve, reject) => {
    const call = request(
      { hostname, port, path, method: given.method ?? 'GET', headers: given.headers, agent: false },
      (answer) => {
        const chunks: Buffer[] = [];
        answer.on('data', (chunk: Buffer) => chunks.push(chunk));
        answer.on('error', reject);
        answer.on('end', () =>
          resolve({ status: answer.statusCode!, headers: answer.headers, body: Buffer.concat(chunks).toString() }),
        );
      },
    );
    call.on('error', reject);
    call.end(given.body);
  });
}
