export { STANDS, type Stand } from '../../server/core/picture/stands.ts';
