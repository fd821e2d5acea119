import { parentPort } from 'node:worker_threads';
import { buildDemo } from './build-demo.ts';

/** Entry of the demo's thread: models, and hands over the result. */
parentPort!.postMessage(await buildDemo());
