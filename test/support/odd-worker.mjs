// A thread that does what threads should not, from its sources: Node 20 does not hand loaders down to threads.
import { readFileSync } from 'node:fs';
import { register } from 'tsx/esm/api';

register();
const { serveTasks } = await import('../../server/threads/serve-tasks.ts');
const { Problem } = await import('../../server/core/problems.ts');

export default serveTasks(({ kind, a }) => {
  const held = [];
  switch (kind) {
    case 'add':
      return a + 1;
    case 'hang':
      for (;;);
    case 'fill':
      for (;;) held.push(new Array(100_000).fill(held.length));
    case 'disk':
      return readFileSync('/nowhere/at-all');
    case 'end':
      return process.exit(1);
    default:
      throw new Problem('image-unreadable', { detail: 'damaged', where: 'image 3', cause: new Error('x') });
  }
});
