// `npm ci` must succeed where the browser's download host cannot be reached: set-up finds or fetches a browser itself.
module.exports = { skipDownload: true };
