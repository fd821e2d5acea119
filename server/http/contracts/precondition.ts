import { Type } from 'typebox';
import { AuthorHeaders } from './finish-history.ts';

const precondition = {
  'if-match': Type.Optional(
    Type.String({
      maxLength: 16_000,
      description: 'The ETag of what was read. If it changed since then, Dyeworks answers 412 and changes nothing',
    }),
  ),
  'if-none-match': Type.Optional(
    Type.String({ maxLength: 16_000, description: '*: Dyeworks answers 412 if the resource exists already' }),
  ),
};

/** Headers of an edit. Without them, an edit may overwrite the changes of others. A call may have other headers as well. */
export const EditHeaders = Type.Object(precondition);

export const AuthoredEditHeaders = Type.Object({ ...AuthorHeaders.properties, ...precondition });
