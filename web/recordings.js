// @ts-check
// Which files are recordings.

/** Ends of their names. */
const ENDS = /\.(wav|wave|flac|ogg|oga|mp3|m4a|mp4|aac|aif|aiff|caf|opus)$/i;

/** Whether a file is a recording. @param {File} file */
export const isRecording = (file) => file.type.startsWith("audio/") || ENDS.test(file.name);
