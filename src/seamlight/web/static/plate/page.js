// The plate's page: recording in the page, a spectrum that can be looked into, recordings that no slip loses.

import { records } from "./record.js";
import { sendTaps } from "./send_taps.js";
import { spectra } from "./spectrum.js";

function begin() {
  records();
  spectra();
  sendTaps(begin);
}

begin();
