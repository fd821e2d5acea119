import { Type } from 'typebox';
import { Count, Digest, mapOf, nullable, type ReadonlyStatic, strict, Time } from './schema-parts.ts';

export const AuditQuery = Type.Object(
  {
    before: Type.Optional(Type.Integer({ minimum: 1, description: 'Entries before this one' })),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 500, default: 100 })),
    account: Type.Optional(Type.String({ maxLength: 200, description: 'Entries of one person' })),
  },
  strict,
);
export type AuditQuery = ReadonlyStatic<typeof AuditQuery>;

export const AuditAnswer = Type.Object(
  {
    entries: Type.Array(
      Type.Object(
        {
          entry: Count,
          at: Time,
          by: Type.Enum(['open', 'service-token', 'session', 'api-token', 'command-line', 'nobody']),
          account: nullable(Type.String()),
          name: nullable(Type.String()),
          address: nullable(Type.String()),
          what: Type.String({ description: 'An event, such as signed-in, or the method and route of a call' }),
          about: mapOf(Type.String()),
          status: nullable(
            Type.Integer(),
            'HTTP status of a call that changed nothing. Null for events and changes, which are recorded in their transaction',
          ),
          refusal: nullable(Type.String()),
          digest: Digest,
        },
        strict,
      ),
      { description: 'Newest first' },
    ),
    next: nullable(Count, '`before` of the next page; null on the last'),
  },
  strict,
);
export type AuditAnswer = ReadonlyStatic<typeof AuditAnswer>;
