/* Complex functions that the C library of Wine 8 lacks and numpy asks for. They are put over its
   stubs, which end the program, when Python starts. For the tests under Wine only. */
#include <windows.h>
#include <complex.h>
#include <string.h>
typedef struct { float r, i; } F; typedef struct { double r, i; } D;
static float complex cf(F z){ float complex x; __real__ x=z.r; __imag__ x=z.i; return x; }
static double complex cd(D z){ double complex x; __real__ x=z.r; __imag__ x=z.i; return x; }
static F fc(float complex x){ F z={crealf(x),cimagf(x)}; return z; }
static D dc(double complex x){ D z={creal(x),cimag(x)}; return z; }
#define U(n) static F s_##n##f(F z){return fc(n##f(cf(z)));} static D s_##n(D z){return dc(n(cd(z)));}
#define R(n) static float s_##n##f(F z){return n##f(cf(z));} static double s_##n(D z){return n(cd(z));}
#define B(n) static F s_##n##f(F a,F b){return fc(n##f(cf(a),cf(b)));} static D s_##n(D a,D b){return dc(n(cd(a),cd(b)));}
U(cacos)U(cacosh)U(casin)U(casinh)U(catan)U(catanh)U(ccos)U(ccosh)U(cexp)U(clog)U(conj)U(cproj)U(csin)U(csinh)U(csqrt)U(ctan)U(ctanh)
R(cabs)R(carg)R(creal)R(cimag)B(cpow)
static void put(HMODULE m,const char*n,void*f){ unsigned char*p=(unsigned char*)GetProcAddress(m,n); DWORD o; if(!p)return;
  if(!VirtualProtect(p,16,PAGE_EXECUTE_READWRITE,&o))return; p[0]=0x48;p[1]=0xb8;memcpy(p+2,&f,8);p[10]=0xff;p[11]=0xe0; VirtualProtect(p,16,o,&o);}
__declspec(dllexport) int install(void){ HMODULE m=GetModuleHandleA("ucrtbase.dll"); if(!m)return 1;
#define P(n) put(m,#n,(void*)s_##n); put(m,#n "f",(void*)s_##n##f);
P(cacos)P(cacosh)P(casin)P(casinh)P(catan)P(catanh)P(ccos)P(ccosh)P(cexp)P(clog)P(conj)P(cproj)P(csin)P(csinh)P(csqrt)P(ctan)P(ctanh)P(cabs)P(carg)P(creal)P(cimag)P(cpow)
return 0;}
