// Starts the demo's thread from its sources: Node 20 does not pass loaders on to threads.
import { register } from 'tsx/esm/api';

register();
await import('./worker.ts');
