import type { FastifyRequest } from 'fastify';

/** The tag a caller read; null when it does not mind what it overwrites. */
export function readIfMatch(request: Pick<FastifyRequest, 'headers'>): string | null {
  const header = request.headers['if-match'];
  if (header === undefined || header.trim() === '*') return null;
  return header.trim().replace(/^W\//, '').replace(/^"|"$/g, '');
}
