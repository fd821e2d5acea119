/** Texts for putting a delivery on a shop's page. */
export const embedTexts = {
  heading: 'Embed',
  intro:
    'Put the viewer on any page. Copy the folder of the viewer to the shop’s server; npm run pack makes it. The addresses of this service need its permission to be read without a token.',
  address: 'Addresses',
  addresses: { own: 'This delivery', current: 'Always the newest delivery' },
  viewer: { name: 'Viewer', note: 'Shows every variant in 3D, with choices by position.' },
  pictures: { name: 'Picture only', note: 'For pages without script. It shows the default variant.' },
  page: { name: 'Example page', note: 'A whole page with the viewer, and the picture for browsers without script.' },
  copy: 'Copy',
  copyOf: (name: string) => ` ${name.toLowerCase()}`,
  copied: (name: string) => `${name} is on the clipboard.`,
  cannotCopy: 'The browser does not allow it. Select the text and copy it.',
  download: 'HTML',
  markup: (name: string) => `Markup: ${name.toLowerCase()}`,
} as const;
