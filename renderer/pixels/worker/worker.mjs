// Starts the thread from its sources: Node 20 does not hand loaders down to threads.
import { register } from 'tsx/esm/api';

register();
export default (await import('./worker.ts')).default;
