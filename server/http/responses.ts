import type { FastifyInstance, FastifyReply } from 'fastify';
import type { TSchema } from 'typebox';
import { ref } from './contracts/schema-parts.ts';
import { ProblemAnswer } from './contracts/service.ts';

// Response descriptions of routes, for the OpenAPI document. Fastify does not trim answers by them: see `parseRequests`.

const content = (schema: unknown, ...mediaTypes: readonly string[]) =>
  Object.fromEntries(mediaTypes.map((mediaType) => [mediaType, { schema }]));

/** One answer with a body, for a status that the others here do not have. */
export const json = (description: string, schema: TSchema) => ({
  description,
  content: content(schema, 'application/json'),
});

const empty = (description: string) => ({ description, type: 'null' });

export const ok = (schema: TSchema) => ({ 200: json('Success', schema) });

export const created = (schema: TSchema) => ({ 201: json('Created', schema) });

/** For a PUT: 201 for something new, 200 for a change. */
export const stored = (schema: TSchema) => ({ 200: json('Changed', schema), 201: json('Created', schema) });

/** The tag of what a person edits; it goes back as If-Match. */
export function setTag(reply: FastifyReply, tag: string): void {
  reply.header('etag', `"${tag}"`);
}

/** For an answer with an ETag that the route compares with If-None-Match. */
export const tagged = (schema: TSchema) => ({ ...ok(schema), 304: empty('Not modified') });

/** For long work: the answer describes the job, and `location` is its URL path. */
export const accepted = (schema: TSchema) => ({ 202: json('The job is queued', schema) });

export const noContent = { 204: empty('Done') };

const file = (mediaTypes: readonly string[]) => ({
  description: 'The file',
  content: Object.assign(
    {},
    ...mediaTypes.map((type) =>
      // what a JSON file holds is stated where its format is
      content(/\bjson$/.test(type) ? {} : { type: 'string', contentEncoding: 'binary' }, type),
    ),
  ),
});

/** A file or text that is sent as a whole. */
export const download = (mediaType: string) => ({ 200: file([mediaType]) });

/** Bytes with ETag, If-None-Match and ranges, as `sendFile` and `sendBytes` send them. */
export const bytes = (...mediaTypes: readonly string[]) => ({
  200: file(mediaTypes),
  206: { ...file(mediaTypes), description: 'The requested range' },
  304: empty('Not modified'),
  416: empty('The range lies outside the file'),
});

export const events = (schema: TSchema) => ({
  200: { description: 'Server-sent events', content: content(schema, 'text/event-stream') },
});

/** Describes the refusal that every route may answer with. */
export function describeProblems(app: FastifyInstance): void {
  const problem = {
    description: 'The call is refused, or failed. `code` says why',
    content: content(ref(ProblemAnswer), 'application/problem+json'),
  };
  app.addHook('onRoute', (route) => {
    if (route.schema?.hide) return;
    route.schema = { ...route.schema, response: { ...(route.schema?.response as object), default: problem } };
  });
}
