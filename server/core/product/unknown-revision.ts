import { Problem } from '../problems.ts';

export function unknownRevision(revision: number): Problem {
  return new Problem('unknown-revision', {
    detail: `The product has no revision ${revision} of its model. Its revisions are listed under /revisions.`,
    received: revision,
  });
}
