// Entry of the worker thread: teaches Node to read the TypeScript sources, then starts.
import { register } from 'tsx/esm/api';

register();
await import('./worker.ts');
