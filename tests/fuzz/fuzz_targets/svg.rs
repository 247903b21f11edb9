#![no_main]
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| withy_tests::hostile::svg(bytes));
