/** Words that several pages share. */
export const commonTexts = {
  // buttons
  save: 'Save',
  cancel: 'Cancel',
  close: 'Close',
  add: 'Add',
  remove: 'Remove',
  discard: 'Discard changes',
  tryAgain: 'Try again',
  showMore: 'Show more',

  // labels and column heads
  article: 'Article',
  code: 'Code',
  family: 'Family',
  finish: 'Finish',
  format: 'Format',
  name: 'Name',
  product: 'Product',
  size: 'Size',
  status: 'Status',
  variants: 'Variants',

  // values
  none: 'None',
  notRecorded: 'not recorded',
  notStated: 'Not stated',
} as const;
