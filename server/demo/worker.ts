import { parentPort } from 'node:worker_threads';
import { buildDemo } from './build-demo.ts';

/** Entry of the demo's thread: makes the models and posts the result. */
parentPort!.postMessage(await buildDemo());
