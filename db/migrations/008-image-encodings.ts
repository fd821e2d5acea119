/**
 * Images know how they state their colours, as JSON. What was stored before does not, and is read as sRGB as it always was;
 * uploading such an image again fills it in.
 */
export const imageEncodings = /* sql */ `
ALTER TABLE images ADD COLUMN encoding TEXT;
`;
