import { Type } from 'typebox';

/** Who makes a change, and why: any write to finishes and articles may say so. Other headers are none of its business. */
export const AuthorHeaders = Type.Object({
  'dyeworks-person': Type.Optional(
    Type.String({
      maxLength: 2000,
      description:
        'Who makes the change, for the history; UTF-8, percent-encoded as in an address. It is taken down as it is stated; nothing proves it',
    }),
  ),
  'dyeworks-note': Type.Optional(
    Type.String({ maxLength: 12_000, description: 'Why the change is made, for the history; encoded likewise' }),
  ),
});
