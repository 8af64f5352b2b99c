/* bcryptprimitives.dll, which Wine 8 lacks and formualizer asks for random numbers. For the tests
   under Wine only. */
#include <windows.h>
BOOLEAN NTAPI SystemFunction036(PVOID buffer, ULONG size);
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE buffer, SIZE_T size) {
    return SystemFunction036(buffer, (ULONG)size);
}
