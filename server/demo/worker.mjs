// Entry of the demo's thread: teaches Node to read the TypeScript sources, models, and hands over the result.
import { parentPort } from 'node:worker_threads';
import { register } from 'tsx/esm/api';

register();
const { buildDemo } = await import('./build-demo.ts');
parentPort.postMessage(await buildDemo());
