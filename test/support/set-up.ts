// SIGTERM ends a worker, and would leave browser profiles and test folders behind.
if (process.listenerCount('SIGTERM') === 0) process.once('SIGTERM', () => process.exit());
