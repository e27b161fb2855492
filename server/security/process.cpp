#include "server/security/process.hpp"

#include <sys/prctl.h>
#include <sys/resource.h>

#include "vocabulary/error.hpp"

namespace waybourne::server {

PrivateMemory::PrivateMemory() {
    rlimit limit{};
    if (::getrlimit(RLIMIT_CORE, &limit) == 0) {
        limit.rlim_cur = 0;
        ::setrlimit(RLIMIT_CORE, &limit);
    }
    if (::prctl(PR_SET_DUMPABLE, 0, 0, 0, 0) != 0) {
        throw Unavailable("core dumps cannot be turned off");
    }
}

PrivateMemory::~PrivateMemory() {
    ::prctl(PR_SET_DUMPABLE, 1, 0, 0, 0);
}

}  // namespace waybourne::server
