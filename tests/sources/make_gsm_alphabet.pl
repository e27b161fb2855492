# Writes tests/sources/gsm_alphabet.txt: perl tests/sources/make_gsm_alphabet.pl > tests/sources/gsm_alphabet.txt
use strict;
use warnings;
use Encode qw(decode FB_CROAK);
use Encode::GSM0338;

print "# The 7-bit default alphabet and its extension: code, then Unicode. Written out by Encode::GSM0338 2.10 of\n";
print "# Perl (which follows 3GPP TS 23.038, section 6.2.1), one line each; 1B is the escape to the extension.\n";
for my $code (0 .. 127) {
    printf "%02X %04X\n", $code, ord decode('gsm0338', chr $code) if $code != 0x1b;
}
for my $code (0 .. 127) {
    my $bytes = "\x1b" . chr $code;
    my $text = eval { decode('gsm0338', $bytes, FB_CROAK) };
    printf "1B%02X %04X\n", $code, ord $text if defined $text && length $text == 1 && ord $text != 0xfffd;
}
