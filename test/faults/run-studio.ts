import { disturbStudio } from '../support/disturb-studio.ts';

// `npm run faults:studio -- [renders]`: kills or stops a process of the browser in the middle of so many renders, 100 by default.
// Fails when a picture fails, has other bytes, or a process of a replaced browser is left.

const [renders = 100] = process.argv.slice(2).map(Number);
const { replaced, longestMs, left } = await disturbStudio(renders, console.log);
console.log(`${renders} renders, ${replaced} browsers replaced, ${left.length} processes left`);
console.log(`longest render with a stopped process: ${longestMs} ms`);
process.exit(left.length > 0 ? 1 : 0);
