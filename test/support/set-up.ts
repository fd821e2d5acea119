// A worker is ended by SIGTERM, which by itself would leave browsers' profiles and test folders behind.
if (process.listenerCount('SIGTERM') === 0) process.once('SIGTERM', () => process.exit());
