/** What the products' data sheets say, in mm. The models are built to these, and a test measures them. */
export const LAMP_SHEET = { widthMm: 282, depthMm: 282, heightMm: 460 } as const;
export const STOOL_SHEET = { widthMm: 368, depthMm: 368, heightMm: 450 } as const;
