// Starts the thread from its sources: Node 20 does not pass loaders on to threads.
import { register } from 'tsx/esm/api';

register();
export default (await import('./worker.ts')).default;
